// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/chalk/stroke_finder.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <optional>

#include "pipeline/geometry/polygon.h"
#include "pipeline/trace/chalk/crest_chain.h"
#include "pipeline/trace/chalk/inks.h"
#include "pipeline/trace/chalk/stroke_profile.h"
#include "pipeline/trace/chalk/stroke_significance.h"

namespace chalkfold::trace {
namespace {

// fitted: no source but the marks found and invented, as chalkfold_marks_accuracy --renders 200 --seed 1000 tells.
constexpr double scale = 1.1;  // mm, standard deviation of the smoothing: strokes of 1 to 5 mm answer
constexpr double along = 3.0;  // mm, of the averaging along the stroke: half of the shortest one
// mm, the same for wide chalk and chalk broken by ribs; fitted
constexpr double scale_coarse = 2.2, along_coarse = 4.8;
constexpr double gap = 4.0;             // mm, a break in the chalk that is bridged; fitted
constexpr double least_length = 6;      // mm: a tick; shorter is a crumb
constexpr double most_width = 7;        // mm: worn tailor's chalk on its side
constexpr double least_contrast = 1.2;  // standard deviations of the material; fitted
constexpr double least_step = 3.0;  // of 255, over three channels: over a stroke's area a camera's noise is far below
constexpr double significance_taught = 6;  // of the strokes that teach an ink, and where one is known; fitted
// of strokes as strong as a known ink: along ribs, copies show much of the rib; fitted
constexpr double significance_strong = 3.2;
constexpr double significance_faint = 10;                  // of strokes much fainter than the ink; fitted
constexpr double faint_stroke = 0.4, strong_stroke = 0.6;  // of the ink's contrast; fitted
constexpr double least_of_ink = 0.18;      // contrast, of that of the strokes which taught the ink; fitted
constexpr double share_expected = 0.75;    // of the significance asked for; fitted
constexpr double least_steadiness = 0.55;  // most of its length, and a little; fitted
constexpr int most_repeats = 2;            // seen again more often, it is the material's pattern

// Of a ridge field's strength, in medians over the panel; fitted.
constexpr double certain_seed = 4.5, certain_carry = 2.6;  // colour ridges: chalk beyond doubt
constexpr double faint_seed = 3.2, faint_carry = 1.9;      // long ridges in an ink's colour

constexpr double half_strong = 0.5;  // of an ink's contrast: the least of a broad stroke
constexpr double overlap = 1.0;      // mm beyond a stroke's side, where no other has its middle; fitted

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
std::vector<Polyline> lines_of(RidgeField field, const TableRaster& raster, const cv::Mat& inside, double seed,
                               double carry) {
  const double unit = median_strength(field.strength, inside);
  if (!(unit > 0)) return {};
  field.strength.setTo(cv::Scalar(0), inside == 0);
  CrestChainOptions chain_options;
  chain_options.seed = seed * unit;
  chain_options.gap_px = gap / raster.mm_per_px;
  chain_options.least_px = least_length / raster.mm_per_px;
  std::vector<Polyline> lines;
  for (const CrestChain& chain :
       chain_crests(crest_points(field, carry * unit), field.strength.size(), chain_options)) {
    Polyline line;
    for (const CrestPoint& p : chain) line.push_back(raster.table_from_raster(p.at));
    lines.push_back(std::move(line));
  }
  return lines;
}

/// A step of colour as the eye and a JPEG know it, both of which see fine lines by their light: colour of the same light counts only beyond what a
/// coder makes up. Of 255, over the three channels together.
double visible_step(const cv::Vec3f& bgr, const StrokeOptions& o) {
  constexpr double of_blue = 0.114, of_green = 0.587, of_red = 0.299;  // as JPEG weighs them (ITU-R BT.601)
  const double light = 255 * (of_blue * bgr[0] + of_green * bgr[1] + of_red * bgr[2]);
  const double colour = cv::norm(255 * cv::Vec3d(bgr) - cv::Vec3d::all(light));
  return std::hypot(std::sqrt(3.0) * std::max(0.0, std::abs(light) - o.coded_light),
                    std::max(0.0, colour - o.coded_colour));
}

bool is_stroke(const Stroke& s, const StrokeOptions& o, const ChalkInk* ink, const cv::Matx33f& bgr_from_departure) {
  if (visible_step(bgr_from_departure * s.departure, o) < least_step) return false;
  if (ink && s.departure.dot(ink->direction) < same_ink * s.contrast) return false;
  const double of_ink = !ink ? ink_contrast : ink->sure() ? least_of_ink * ink->contrast : 0;
  return s.contrast >= std::max(least_contrast, of_ink) && s.length >= least_length && s.width <= most_width &&
         s.steadiness >= least_steadiness;
}

/// What strokes are judged by.
struct Asked {
  const StrokeOptions& options;
  /// significance of strokes as strong as the ink
  double of_strong = significance_strong;
};

/// Significance that is asked of a stroke. `ink` is null for strokes that are to teach the inks.
double least_significance(const Stroke& stroke, const Asked& asked, const ChalkInk* ink) {
  if (!ink) return significance_taught;
  double least = significance_taught;
  if (ink->contrast == 0) least = significance_alone;
  if (stroke.contrast < faint_stroke * ink->contrast) least = ink->sure() ? significance_faint : significance_alone;
  if (ink->contrast > 0 && stroke.contrast > strong_stroke * ink->contrast) least = asked.of_strong;
  const bool may_be_less = ink->sure() && least > asked.of_strong && asked.options.expected;
  return may_be_less && asked.options.expected(stroke) ? share_expected * least : least;
}

std::optional<Stroke> judged(const PanelPicture& picture, Stroke stroke, const Asked& asked, const ChalkInk* ink) {
  if (!is_stroke(stroke, asked.options, ink, picture.departure_from_bgr.inv())) return std::nullopt;
  const double least = least_significance(stroke, asked, ink);
  set_significance(stroke, picture, least);
  if (stroke.significance < least) return std::nullopt;
  set_repeats(stroke, picture);
  return stroke.repeats > most_repeats ? std::nullopt : std::optional(std::move(stroke));
}

/// The strokes of an ink in a line: the whole of what is drawn on it or, where that is none, its inked stretches.
std::vector<Stroke> judged_in_ink(const PanelPicture& picture, const Polyline& line, const Asked& asked,
                                  const ChalkInk& ink) {
  const StrokeProfile profile(picture, line);
  if (auto s = judged(picture, measured_stroke(picture, drawn_part(profile)), asked, &ink)) return {std::move(*s)};
  std::vector<Stroke> strokes;
  if (ink.contrast == 0) return strokes;
  for (const Polyline& part : parts_in_ink(profile, ink.direction, ink.contrast)) {
    if (geometry::length(part, false) < least_length) continue;
    if (auto s = judged(picture, measured_stroke(picture, part), asked, &ink)) strokes.push_back(std::move(*s));
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
std::vector<Polyline> lines_in_ink(const PanelPicture& picture, const ChalkInk& ink) {
  const TableRaster& raster = picture.raster;
  return lines_of(
      long_ridges(in_ink(picture, ink.direction), scale / raster.mm_per_px, along / raster.mm_per_px, picture.inside),
      raster, picture.inside, faint_seed, faint_carry);
}

/// The same at a coarser scale, on a picture half as fine: chalk that skips the furrows of a rib is a row of dots at the stroke's own scale,
/// drawn into the ribs themselves, and one line at this one.
std::vector<Polyline> broad_lines_in_ink(const PanelPicture& picture, const ChalkInk& ink) {
  constexpr int step = 2;
  const TableRaster half{step * picture.raster.mm_per_px, picture.raster.table_from_raster(Vec2(0.5, 0.5)),
                         picture.raster.size / step};
  if (half.size.width < 3 || half.size.height < 3) return {};
  const cv::Rect even({0, 0}, half.size * step);
  cv::Mat coarse, inside;
  cv::resize(in_ink(picture, ink.direction)(even), coarse, half.size, 0, 0, cv::INTER_AREA);
  cv::resize(picture.inside(even), inside, half.size, 0, 0, cv::INTER_AREA);
  inside = inside == 255;
  return lines_of(long_ridges(coarse, scale_coarse / half.mm_per_px, along_coarse / half.mm_per_px, inside), half,
                  inside, faint_seed, faint_carry);
}

/// Lines that may be strokes, seen in a colour.
struct InkLines {
  cv::Vec3f direction;
  std::vector<Polyline> fine, broad;
};

std::vector<Stroke> strokes_on(const PanelPicture& picture, const InkLines& lines, const ChalkInk& ink,
                               const Asked& asked) {
  std::vector<Stroke> strokes;
  for (const Polyline& line : lines.fine) add_strokes(strokes, judged_in_ink(picture, line, asked, ink));
  // Folds and shading are broad too, but fainter than chalk.
  const double least = ink.sure() ? half_strong * ink.contrast : ink_contrast;
  for (const Polyline& line : lines.broad) {
    for (Stroke& s : judged_in_ink(picture, line, asked, ink)) {
      if (s.contrast > least && s.significance >= significance_taught) strokes.push_back(std::move(s));
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
  constexpr double fine_step = 2, light_share = 0.4, colour_share = 2.2;  // fitted to those
  StrokeOptions options;
  options.coded_light = light_share * std::max(0.0, coding.light - fine_step);
  if (coding.colour > 0) options.coded_colour = colour_share * coding.colour;
  return options;
}

double confidence_of(const Stroke& stroke) {
  constexpr double half_sure = 5;  // significance that half of the time is chance; fitted
  return stroke.steadiness * stroke.significance / (stroke.significance + half_sure);
}

bool shares_an_ink(const Stroke& stroke, const std::vector<Stroke>& all, const std::vector<bool>& used) {
  constexpr double faint = 0.35;  // of the other's contrast; fitted
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
       lines_of(colour_ridges(picture.departure, scale / picture.raster.mm_per_px, picture.inside), picture.raster,
                picture.inside, certain_seed, certain_carry)) {
    if (auto s = judged(picture, measured_stroke(picture, drawn_part({picture, line})), {options}, nullptr))
      all.push_back(std::move(*s));
  }
  std::vector<ChalkInk> inks = inks_of(all);
  const bool taught = std::any_of(inks.begin(), inks.end(), [](const ChalkInk& ink) { return ink.sure(); });
  if (!taught) {
    for (const ChalkInk& ink : plain_inks(picture)) inks.push_back(ink);
  }
  std::vector<InkLines> searched;
  for (const ChalkInk& ink : inks) {
    searched.push_back({ink.direction, lines_in_ink(picture, ink), broad_lines_in_ink(picture, ink)});
    add_strokes(all, strokes_on(picture, searched.back(), ink, {options}));
  }
  if (!taught) {
    // Of the broad lines only, and as for inks of another strength: ribs are as strong as what is drawn along them.
    const Asked late{options, significance_taught};
    for (const ChalkInk& ink : taught_late(all, significance_alone)) {
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
