// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/chalk/stroke_finder.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <optional>

#include "pipeline/geometry/polygon.h"
#include "pipeline/trace/chalk/crest_chain.h"
#include "pipeline/trace/chalk/displaced_places.h"
#include "pipeline/trace/chalk/inks.h"
#include "pipeline/trace/chalk/stroke_profile.h"

namespace chalkfold::trace {
namespace {

// Of a ridge field's strength, in medians over the panel.
constexpr double certain_seed = 4.5, certain_carry = 2.6;  // colour ridges: chalk beyond doubt
constexpr double faint_seed = 3.2, faint_carry = 1.9;      // long ridges in an ink's colour

constexpr double half_strong = 0.5;  // of an ink's contrast: the least of a broad stroke
constexpr std::size_t copies_wanted = 48, copies_first = 12;
constexpr int copies_tried = 160;
// of the significance asked for, after the first copies: their spread is known to a fifth
constexpr double hopeless = 0.6;
constexpr double hopeless_at_all = 0.3;  // the same, where lines may turn out to be all there is to it
constexpr int line_steps = 4;
constexpr double line_step = 0.6;  // mm; together as far as from one rib to the next
// Of such copies on leather, grained or not, and on woven cloth, in units of significance_of: 1.2 to 1.3, and 0.6 to 0.75.
constexpr double grain_mean = 1.2, grain_spread = 0.6;
constexpr double repeat_from = 13, repeat_to = 62,
                 repeat_step = 0.8;  // mm; marks drawn together lie nearer than the first
// mm: shorter strokes may stand in rows, as match marks do; a pattern goes on beyond their ends
constexpr double longest_mark = 60;
constexpr double repeat_share = 0.6;  // of the stroke's contrast
constexpr double overlap = 1.0;       // mm beyond a stroke's side, where no other has its middle

/// Of every other pixel inside, either way. By counting, which on so many is several times as quick as ordering: the bits of numbers that are not negative
/// ascend with them.
double median_strength(const cv::Mat& strength, const cv::Mat& inside) {
  constexpr unsigned sign = 1u << 31, low_bits = 16;
  std::vector<unsigned> count(sign >> low_bits);
  std::size_t total = 0;
  const auto for_each = [&](auto&& work) {
    for (int y = 0; y < strength.rows; y += 2) {
      const auto* row = strength.ptr<float>(y);
      const auto* in = inside.ptr<unsigned char>(y);
      for (int x = 0; x < strength.cols; x += 2) {
        if (in[x]) work(std::bit_cast<unsigned>(row[x]) & ~sign);
      }
    }
  };
  for_each([&](unsigned bits) {
    ++count[bits >> low_bits];
    ++total;
  });
  if (total == 0) return 0;
  std::size_t below = 0;
  unsigned high = 0;
  while (below + count[high] <= total / 2) below += count[high++];
  std::vector<unsigned> like;  // those that begin with the median's upper bits
  like.reserve(count[high]);
  for_each([&](unsigned bits) {
    if (bits >> low_bits == high) like.push_back(bits);
  });
  const auto middle = like.begin() + static_cast<std::ptrdiff_t>(total / 2 - below);
  std::nth_element(like.begin(), middle, like.end());
  return std::bit_cast<float>(*middle);
}

/// `raster` and `inside` belong to the field: the picture's own or coarser ones.
std::vector<Polyline> lines_of(RidgeField field, const TableRaster& raster, const cv::Mat& inside,
                               const StrokeOptions& options, double seed, double carry) {
  const double unit = median_strength(field.strength, inside);
  if (!(unit > 0)) return {};
  field.strength.setTo(cv::Scalar(0), inside == 0);
  CrestChainOptions chain_options;
  chain_options.seed = seed * unit;
  chain_options.gap_px = options.gap / raster.mm_per_px;
  chain_options.least_px = options.least_length / raster.mm_per_px;
  std::vector<Polyline> lines;
  for (const CrestChain& chain :
       chain_crests(crest_points(field, carry * unit), field.strength.size(), chain_options)) {
    Polyline line;
    for (const CrestPoint& p : chain) line.push_back(raster.table_from_raster(p.at));
    lines.push_back(std::move(line));
  }
  return lines;
}

/// Contrast in spreads of what displaced copies show. Nine in ten copies: other strokes may lie under the rest.
double significance_of(const Stroke& stroke, std::vector<double> sizes) {
  std::sort(sizes.begin(), sizes.end());
  const std::size_t most = sizes.size() * 9 / 10;
  double sum = 0;
  for (std::size_t i = 0; i < most; ++i) sum += sizes[i] * sizes[i];
  return stroke.contrast / std::max(1e-6, std::sqrt(sum / static_cast<double>(most)) / trimmed_spread);
}

/// Unit normal to a stroke's chord.
Vec2 across(const Stroke& stroke) {
  const Vec2 chord = (stroke.points.back() - stroke.points.front()).normalized();
  return {-chord.y(), chord.x()};
}

/// Along ribs a stroke is to be told from the ribs themselves, which are all alike: its contrast over that of copies which have each been moved
/// on to the line beside them, in the spreads of these. Scaled to what significance_of gives on a material without lines.
double significance_among_lines(const Stroke& stroke, const DisplacedCopies& displaced, const std::vector<Vec2>& shifts,
                                double least) {
  std::vector<double> best;
  double significance = 0;
  for (const Vec2& shift : shifts) {
    double most = 0;
    for (int k = -line_steps; k <= line_steps; ++k)
      most = std::max(most, displaced.contrast(shift + k * line_step * across(stroke)).value_or(0));
    best.push_back(most);
    if (best.size() != copies_first && best.size() != shifts.size()) continue;
    std::vector<double> sorted = best;
    std::sort(sorted.begin(), sorted.end());
    const double middle = sorted[sorted.size() / 2],
                 upper = sorted[sorted.size() * 17 / 20];  // one standard deviation up
    significance = grain_mean + grain_spread * (stroke.contrast - middle) / std::max(1e-6, upper - middle);
    if (significance < hopeless * least) break;
  }
  return significance;
}

/// Sets `significance`. The grain's own lines, nearly all of what is judged, are given up after the first copies: `least` is what is asked for.
void judge_against_copies(Stroke& stroke, const PanelPicture& picture, double least) {
  const Vec2 middle = geometry::bounding_box(stroke.points).centre();
  const DisplacedCopies displaced(picture, stroke);
  std::vector<double> sizes;
  std::vector<Vec2> shifts;
  for (int i = 1; i <= copies_tried && sizes.size() < copies_wanted; ++i) {
    const Vec2 shift = displaced_shift(picture, middle, i);
    if (shift.norm() < 4) continue;
    if (const auto c = displaced.contrast(shift)) {
      sizes.push_back(std::abs(*c));
      shifts.push_back(shift);
    }
    if (sizes.size() == copies_first &&
        (stroke.significance = significance_of(stroke, sizes)) < hopeless_at_all * least)
      return;
  }
  if (sizes.size() < 8) {  // nowhere else to lie: a line as long as the panel
    stroke.significance = stroke.contrast * std::sqrt(stroke.length);
    return;
  }
  stroke.significance = significance_of(stroke, std::move(sizes));
  if (stroke.significance < least)
    stroke.significance = std::max(stroke.significance, significance_among_lines(stroke, displaced, shifts, least));
}

void count_repeats(Stroke& stroke, const PanelPicture& picture) {
  const Vec2 chord = (stroke.points.back() - stroke.points.front()).normalized(), normal(-chord.y(), chord.x());
  const DisplacedCopies displaced(picture, stroke);
  const auto shows = [&](const Vec2& shift) {
    const auto c = displaced.contrast(shift);
    return c && *c > repeat_share * stroke.contrast;
  };
  for (const int side : {-1, 1}) {
    bool on = false;
    for (double d = repeat_from; d <= repeat_to; d += repeat_step) {
      const Vec2 aside = side * d * normal;
      const bool strong = shows(aside) && (stroke.length > longest_mark || shows(aside + 1.2 * stroke.length * chord) ||
                                           shows(aside - 1.2 * stroke.length * chord));
      stroke.repeats += strong && !on;
      on = strong;
    }
  }
}

/// A step of colour as the eye and a JPEG know it, both of which see fine lines by their light: colour of the same light counts only beyond what a
/// coder makes up. Of 255, over the three channels together.
double visible_step(const cv::Vec3f& bgr, const StrokeOptions& o) {
  const double light = 255 * (0.114 * bgr[0] + 0.587 * bgr[1] + 0.299 * bgr[2]);  // as JPEG weighs them (ITU-R BT.601)
  const double colour = cv::norm(255 * cv::Vec3d(bgr) - cv::Vec3d::all(light));
  return std::hypot(std::sqrt(3.0) * std::max(0.0, std::abs(light) - o.coded_light),
                    std::max(0.0, colour - o.coded_colour));
}

bool is_stroke(const Stroke& s, const StrokeOptions& o, const ChalkInk* ink, const cv::Matx33f& bgr_from_departure) {
  if (visible_step(bgr_from_departure * s.departure, o) < o.least_step) return false;
  if (ink && s.departure.dot(ink->direction) < same_ink * s.contrast) return false;
  const double of_ink = !ink ? ink_contrast : ink->sure() ? o.least_of_ink * ink->contrast : 0;
  return s.contrast >= std::max(o.least_contrast, of_ink) && s.length >= o.least_length && s.width >= o.least_width &&
         s.width <= o.most_width && s.steadiness >= o.least_steadiness;
}

/// `ink` is null for strokes that are to teach the inks.
std::optional<Stroke> judged(const PanelPicture& picture, Stroke stroke, const StrokeOptions& options,
                             const ChalkInk* ink) {
  if (!is_stroke(stroke, options, ink, picture.departure_from_bgr.inv())) return std::nullopt;
  constexpr double faint = 0.4, strong = 0.6;  // of the ink's contrast
  double least = options.least_significance;
  if (ink && ink->contrast == 0) least = options.least_significance_alone;
  if (ink && stroke.contrast < faint * ink->contrast)
    least = ink->sure() ? options.least_significance_faint : options.least_significance_alone;
  if (ink && ink->contrast > 0 && stroke.contrast > strong * ink->contrast) least = options.least_significance_strong;
  if (ink && ink->sure() && least > options.least_significance_strong && options.expected && options.expected(stroke))
    least *= options.share_expected;
  judge_against_copies(stroke, picture, least);
  if (stroke.significance < least) return std::nullopt;
  count_repeats(stroke, picture);
  return stroke.repeats > options.most_repeats ? std::nullopt : std::optional(std::move(stroke));
}

/// The strokes of an ink in a line: the whole of what is drawn on it or, where that is none, its inked stretches.
std::vector<Stroke> judged_in_ink(const PanelPicture& picture, const Polyline& line, const StrokeOptions& options,
                                  const ChalkInk& ink) {
  const StrokeProfile profile(picture, line);
  if (auto s = judged(picture, measured_stroke(picture, drawn_part(profile)), options, &ink)) return {std::move(*s)};
  std::vector<Stroke> strokes;
  if (ink.contrast == 0) return strokes;
  for (const Polyline& part : parts_in_ink(profile, ink.direction, ink.contrast)) {
    if (geometry::length(part, false) < options.least_length) continue;
    if (auto s = judged(picture, measured_stroke(picture, part), options, &ink)) strokes.push_back(std::move(*s));
  }
  return strokes;
}

void add_strokes(std::vector<Stroke>& all, std::vector<Stroke> more) {
  std::move(more.begin(), more.end(), std::back_inserter(all));
}

cv::Mat in_ink(const PanelPicture& picture, const cv::Vec3f& ink) {
  cv::Mat out;
  cv::transform(picture.departure, out, cv::Mat(cv::Matx13f(ink[0], ink[1], ink[2])));
  return out;
}

/// Long ridges in an ink's colour at the stroke's own scale.
std::vector<Polyline> lines_in_ink(const PanelPicture& picture, const ChalkInk& ink, const StrokeOptions& options) {
  const TableRaster& raster = picture.raster;
  return lines_of(long_ridges(in_ink(picture, ink.direction), options.scale / raster.mm_per_px,
                              options.along / raster.mm_per_px, picture.inside),
                  raster, picture.inside, options, faint_seed, faint_carry);
}

/// The same at a coarser scale, on a picture half as fine: chalk that skips the furrows of a rib is a row of dots at the stroke's own scale,
/// drawn into the ribs themselves, and one line at this one.
std::vector<Polyline> broad_lines_in_ink(const PanelPicture& picture, const ChalkInk& ink,
                                         const StrokeOptions& options) {
  constexpr int step = 2;
  const TableRaster half{step * picture.raster.mm_per_px, picture.raster.table_from_raster(Vec2(0.5, 0.5)),
                         picture.raster.size / step};
  if (half.size.width < 3 || half.size.height < 3) return {};
  const cv::Rect even({0, 0}, half.size * step);
  cv::Mat coarse, inside;
  cv::resize(in_ink(picture, ink.direction)(even), coarse, half.size, 0, 0, cv::INTER_AREA);
  cv::resize(picture.inside(even), inside, half.size, 0, 0, cv::INTER_AREA);
  inside = inside == 255;
  return lines_of(
      long_ridges(coarse, options.scale_coarse / half.mm_per_px, options.along_coarse / half.mm_per_px, inside), half,
      inside, options, faint_seed, faint_carry);
}

/// Lines that may be strokes, seen in a colour.
struct InkLines {
  cv::Vec3f direction;
  std::vector<Polyline> fine, broad;
};

std::vector<Stroke> strokes_on(const PanelPicture& picture, const InkLines& lines, const ChalkInk& ink,
                               const StrokeOptions& options) {
  std::vector<Stroke> strokes;
  for (const Polyline& line : lines.fine) add_strokes(strokes, judged_in_ink(picture, line, options, ink));
  // Folds and shading are broad too, but fainter than chalk.
  const double least = ink.sure() ? half_strong * ink.contrast : ink_contrast;
  for (const Polyline& line : lines.broad) {
    for (Stroke& s : judged_in_ink(picture, line, options, ink)) {
      if (s.contrast > least && s.significance >= options.least_significance) strokes.push_back(std::move(s));
    }
  }
  return strokes;
}

/// Keeps the strokes that are not, for the greater part, over a stroke kept before.
class Canvas {
 public:
  explicit Canvas(const TableRaster& raster) : raster_(raster), drawn_(raster.size, CV_8UC1, cv::Scalar(0)) {}
  bool free(const Stroke& s) const {
    std::size_t over = 0;
    for (const Vec2& p : s.points) {
      const Vec2 q = raster_.raster_from_table(p);
      const cv::Point at(cvRound(q.x()), cvRound(q.y()));
      over += cv::Rect({0, 0}, drawn_.size()).contains(at) && drawn_.at<unsigned char>(at);
    }
    return 2 * over < s.points.size();
  }
  void draw(const Stroke& s) {
    std::vector<cv::Point> line;
    for (const Vec2& p : s.points) {
      const Vec2 q = raster_.raster_from_table(p);
      line.emplace_back(cvRound(q.x()), cvRound(q.y()));
    }
    cv::polylines(drawn_, line, false, cv::Scalar(255),
                  std::max(1, cvRound((s.width + 2 * overlap) / raster_.mm_per_px)));
  }

 private:
  TableRaster raster_;
  cv::Mat drawn_;
};

}  // namespace

StrokeOptions stroke_options(const capture::CodingSteps& coding) {
  // Of a frequency's step: one that is kept or lost makes waves of an eighth to a quarter of it, and several meet beside an edge. Colour is kept at half
  // the size and carried back to three channels. Seen on photographs that were saved again, at qualities from 50 to 90.
  // A phone's own file keeps light in steps of about `fine_step`, finer than its noise.
  constexpr double fine_step = 2, light_share = 0.4, colour_share = 2.2;
  StrokeOptions options;
  options.coded_light = light_share * std::max(0.0, coding.light - fine_step);
  if (coding.colour > 0) options.coded_colour = colour_share * coding.colour;
  return options;
}

double confidence_of(const Stroke& stroke) {
  constexpr double half_sure = 5;  // significance that half of the time is chance
  return stroke.steadiness * stroke.significance / (stroke.significance + half_sure);
}

bool shares_an_ink(const Stroke& stroke, const std::vector<Stroke>& all, const std::vector<bool>& used) {
  constexpr double faint = 0.35;  // of the other's contrast
  for (std::size_t i = 0; i < all.size(); ++i) {
    if (used[i] && stroke.contrast > faint * all[i].contrast &&
        all[i].departure.dot(stroke.departure) > same_ink * all[i].contrast * stroke.contrast)
      return true;
  }
  return false;
}

std::vector<Stroke> find_strokes(const PanelPicture& picture, const StrokeOptions& options) {
  std::vector<Stroke> all;
  for (const Polyline& line :
       lines_of(colour_ridges(picture.departure, options.scale / picture.raster.mm_per_px, picture.inside),
                picture.raster, picture.inside, options, certain_seed, certain_carry)) {
    if (auto s = judged(picture, measured_stroke(picture, drawn_part({picture, line})), options, nullptr))
      all.push_back(std::move(*s));
  }
  std::vector<ChalkInk> inks = inks_of(all);
  const bool taught = std::any_of(inks.begin(), inks.end(), [](const ChalkInk& ink) { return ink.sure(); });
  if (!taught) {
    for (const ChalkInk& ink : plain_inks(picture)) inks.push_back(ink);
  }
  std::vector<InkLines> searched;
  for (const ChalkInk& ink : inks) {
    searched.push_back({ink.direction, lines_in_ink(picture, ink, options), broad_lines_in_ink(picture, ink, options)});
    add_strokes(all, strokes_on(picture, searched.back(), ink, options));
  }
  if (!taught) {
    // Of the broad lines only, and as for inks of another strength: ribs are as strong as what is drawn along them.
    StrokeOptions late = options;
    late.least_significance_strong = options.least_significance;
    for (const ChalkInk& ink : taught_late(all, options.least_significance_alone)) {
      const auto best = std::max_element(searched.begin(), searched.end(), [&](const InkLines& a, const InkLines& b) {
        return a.direction.dot(ink.direction) < b.direction.dot(ink.direction);
      });
      add_strokes(all, strokes_on(picture, {best->direction, {}, best->broad}, ink, late));
    }
  }
  std::stable_sort(all.begin(), all.end(),
                   [](const Stroke& a, const Stroke& b) { return a.length * a.contrast > b.length * b.contrast; });
  Canvas canvas(picture.raster);
  std::vector<Stroke> strokes;
  for (Stroke& s : all) {
    if (!canvas.free(s)) continue;
    canvas.draw(s);
    strokes.push_back(std::move(s));
  }
  return strokes;
}

}  // namespace chalkfold::trace
