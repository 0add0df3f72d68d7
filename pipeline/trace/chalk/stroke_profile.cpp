// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/chalk/stroke_profile.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <opencv2/core/hal/intrin.hpp>
#include <optional>

#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/robust.h"
#include "pipeline/trace/base/stroke_shape.h"

namespace chalkfold::trace {
namespace {

// fitted: no source but the marks found and invented, as chalkfold_marks_accuracy --renders 200 --seed 1000 tells.
constexpr double step_along = panel_mm_per_px;  // mm
constexpr double flank_gap = 0.9;    // mm from the stroke's side to where its surroundings are read: past its blur
constexpr double flank_width = 1.8;  // mm: three samples
// of the width (of 1 mm at the least), either side of the middle, that a stroke is read over
constexpr double middle_share = 0.3;
constexpr double least_inside = 0.6;        // share of a line on the panel; fitted
constexpr std::size_t asked_together = 32;  // places of a copy, whose pixels are asked for before the first is read
constexpr double copy_inside = 0.8;         // share of a displaced copy on the panel; fitted
constexpr std::size_t copy_stride = 2;      // samples: every 1.2 mm is enough for a mean
// contrast against the nearer-looking side, of that against both: less is a step; fitted
constexpr double least_of_both = 0.4;
constexpr double more_of_both = 0.3;  // the more, the longer: there is less chance in how unlike its sides look; fitted
constexpr double longest_more = 60;   // mm of length at which it is the most: as long as a match mark may be
constexpr double steady_share = 1.0 / 3;  // of the whole's departure: chalk is grainy, but never bare for long; fitted
constexpr double first_width = 2.2;       // mm, before it is measured: of a middling stroke
constexpr int width_rounds = 2;           // the second from a fair width
constexpr std::size_t cell = 3;           // samples along, 1.8 mm, in which steadiness is judged
constexpr double least_median = 0.45;     // of the whole's contrast, in half of the cells: less is a dot or two; fitted
constexpr std::size_t top_of = 8;         // a line is as high as all but an eighth of its cells are: no crumb counts
// mm beyond the stroke's side that its middle is looked for in: marks drawn together stand close
constexpr double centre_reach = 0.5;
constexpr std::size_t most_break = 3;    // cells that a stroke may be missing in; fitted
constexpr double half_inked = 0.5;       // of an ink's strength: the material's own lines in its colour are fainter
constexpr std::size_t smooth_reach = 3;  // samples along either side, over which a hand does not waver
constexpr std::size_t window = 4;    // samples either side, over which middle and normals are found: a stroke's width
constexpr double one_offset = 0.01;  // mm either side, to read a single offset
constexpr double no_height = 1e-9;   // standard deviations: nothing to divide by

Polyline evenly(const Polyline& line, double step) {
  Polyline out = {line.front()};
  double left = step;
  for (std::size_t i = 1; i < line.size(); ++i) {
    const double run = (line[i] - line[i - 1]).norm();
    double at = left;
    for (; at <= run && run > 0; at += step) out.push_back(line[i - 1] + (at / run) * (line[i] - line[i - 1]));
    left = at - run;
  }
  if (out.size() < 2) out.push_back(line.back());
  return out;
}

/// Unit normals to the left, from chords over a few points either side.
Polyline left_normals(const Polyline& points) {
  Polyline normals(points.size());
  for (std::size_t i = 0; i < points.size(); ++i) {
    const Vec2 t = (points[std::min(points.size() - 1, i + window)] - points[i < window ? 0 : i - window]).normalized();
    normals[i] = Vec2(-t.y(), t.x());
  }
  return normals;
}

/// The last columns, from which a fourth value would be read beyond the row, lie in the picture's margin of table.
bool has_neighbours(const PanelPicture& picture, const Vec2& at_in_raster) {
  return at_in_raster.x() >= 0 && at_in_raster.y() >= 0 && at_in_raster.x() < picture.departure.cols - 2 &&
         at_in_raster.y() < picture.departure.rows - 1;
}

/// The four pixels that a place is read from.
struct Spot {
  /// channels of the two on the left, each followed by the one on its right; null where there are none
  const float *above = nullptr, *below = nullptr;
  /// of `inside`
  const unsigned char* nearest = nullptr;
  /// share of the right, and of the lower
  float u = 0, v = 0;

  bool inside() const { return above && *nearest != 0; }
};

/// The floor of what is not negative is a truncation.
Spot spot_at(const PanelPicture& picture, const Vec2& at_in_raster) {
  if (!has_neighbours(picture, at_in_raster)) return {};
  const int ix = static_cast<int>(at_in_raster.x()), iy = static_cast<int>(at_in_raster.y());
  const auto u = static_cast<float>(at_in_raster.x() - ix), v = static_cast<float>(at_in_raster.y() - iy);
  const std::ptrdiff_t channel = 3 * std::ptrdiff_t{ix};
  return {picture.departure.ptr<float>(iy) + channel, picture.departure.ptr<float>(iy + 1) + channel,
          picture.inside.ptr<unsigned char>(iy + (v > 0.5f)) + ix + (u > 0.5f), u, v};
}

/// Asks for the pixels, so that they have come when they are read. Places that lie far from the last ones are waited for longer than all else takes.
void ask_for(const Spot& spot) {
  for (const void* pixel : {static_cast<const void*>(spot.above), static_cast<const void*>(spot.below),
                            static_cast<const void*>(spot.nearest)})
    __builtin_prefetch(pixel);
}

/// Between the four pixels of a spot inside. Millions are read: a pixel's three channels are taken together, with a fourth value that is not used.
cv::Vec3f departure_in(const Spot& spot) {
  const cv::v_float32x4 left = cv::v_setall_f32(1 - spot.u), right = cv::v_setall_f32(spot.u);
  const cv::v_float32x4 above = left * cv::v_load(spot.above) + right * cv::v_load(spot.above + 3),
                        below = left * cv::v_load(spot.below) + right * cv::v_load(spot.below + 3);
  std::array<float, 4> out{};
  cv::v_store(out.data(), cv::v_setall_f32(1 - spot.v) * above + cv::v_setall_f32(spot.v) * below);
  return {out[0], out[1], out[2]};
}

cv::Vec3f departure_at(const PanelPicture& picture, const Vec2& at_in_raster, bool& inside) {
  const Spot spot = spot_at(picture, at_in_raster);
  inside = spot.inside();
  return inside ? departure_in(spot) : cv::Vec3f();
}

struct Sides {
  cv::Vec3f departure;  // middle less both sides
  double contrast = 0;  // 0 for a step
};

double least_share_of_both(double length) {
  return least_of_both + more_of_both * std::min(1.0, length / longest_more);
}

Sides against_sides(const StrokeProfile& profile, std::size_t from, std::size_t to, double width) {
  const double low = width / 2 + flank_gap, high = low + flank_width;
  int n_middle = 0, n_left = 0, n_right = 0;
  const cv::Vec3f middle = profile.mean(from, to, 0, middle_share * std::max(1.0, width), 0, &n_middle);
  const cv::Vec3f left = profile.mean(from, to, low, high, 1, &n_left),
                  right = profile.mean(from, to, low, high, -1, &n_right);
  Sides sides;
  if (n_middle == 0 || (n_left == 0 && n_right == 0)) return sides;
  const cv::Vec3f outer = n_left == 0 ? right : n_right == 0 ? left : cv::Vec3f(0.5f * (left + right));
  sides.departure = middle - outer;
  const double norm = cv::norm(sides.departure);
  if (norm < no_height) return sides;
  if (n_left > 0 && n_right > 0) {
    const double l = (middle - left).dot(sides.departure) / norm, r = (middle - right).dot(sides.departure) / norm;
    if (std::min(l, r) < least_share_of_both(static_cast<double>(to - from) * step_along) * norm) return sides;
  }
  // The surroundings should be the material itself: else this is bare material between two strokes.
  if (middle.dot(sides.departure) < least_of_both * norm * norm) return sides;
  sides.contrast = norm;
  return sides;
}

/// Full width at half the height of the mean profile along the departure's direction.
double width_of(const StrokeProfile& profile, const cv::Vec3f& direction, double width) {
  const double low = width / 2 + flank_gap;
  const cv::Vec3f outer = profile.mean(0, profile.size(), low, low + flank_width, 0);
  std::array<double, 2 * StrokeProfile::half_offsets + 1> height{};
  constexpr int middle = StrokeProfile::half_offsets;
  for (std::size_t k = 0; k < height.size(); ++k)
    height[k] = (profile.mean_at(static_cast<int>(k) - middle) - outer).dot(direction);
  const double half = 0.5 * std::max({height[middle - 1], height[middle], height[middle + 1]});
  double sum = 0;
  const auto height_at = [&](int k) {
    return k >= 0 && k < static_cast<int>(height.size()) ? height[static_cast<std::size_t>(k)] : half;
  };
  for (const int way : {-1, 1}) {
    int k = middle;
    while (height_at(k + way) > half) k += way;
    const double here = height_at(k), next = height_at(k + way);
    sum += std::abs(k - middle) + (here > half ? (here - half) / std::max(no_height, here - next) : 0);
  }
  return sum * StrokeProfile::offset_step;
}

Polyline recentred(const StrokeProfile& profile, const cv::Vec3f& direction, double width) {
  const int most = std::min(StrokeProfile::half_offsets,
                            static_cast<int>(std::lround((width / 2 + centre_reach) / StrokeProfile::offset_step)));
  const Polyline normals = left_normals(profile.points());
  Polyline out(profile.size());
  for (std::size_t i = 0; i < profile.size(); ++i) {
    const std::size_t from = i < window ? 0 : i - window, to = std::min(profile.size(), i + window + 1);
    const double low = width / 2 + flank_gap;
    const cv::Vec3f outer = profile.mean(from, to, low, low + flank_width, 0);
    double weight = 0, moment = 0;
    for (int k = -most; k <= most; ++k) {
      const double o = std::abs(k) * StrokeProfile::offset_step;
      const cv::Vec3f value = profile.mean(from, to, o - one_offset, o + one_offset, k > 0 ? 1 : k < 0 ? -1 : 0);
      const double h = std::max(0.0, static_cast<double>((value - outer).dot(direction)));
      weight += h;
      moment += h * k * StrokeProfile::offset_step;
    }
    out[i] = profile.points()[i] + (weight > 0 ? moment / weight : 0) * normals[i];
  }
  return out;
}

/// Height of a line's cells over their surroundings along a departure, each with its two neighbours.
std::vector<double> cell_heights(const StrokeProfile& profile, const cv::Vec3f& departure) {
  std::vector<double> height;
  for (std::size_t from = 0; from < profile.size(); from += cell) {
    const std::size_t low = from < cell ? 0 : from - cell, high = std::min(profile.size(), from + 2 * cell);
    height.push_back(against_sides(profile, low, high, first_width).departure.dot(departure));
  }
  return height;
}

struct CellRun {
  std::size_t from = 0, to = 0;  // cells [from, to)
  double sum = 0;                // of their heights
};

/// Runs of cells at least `enough` high, with breaks in them of up to `most_break`.
std::vector<CellRun> high_runs(const std::vector<double>& height, double enough) {
  std::vector<CellRun> runs;
  for (std::size_t i = 0; i < height.size(); ++i) {
    if (height[i] < enough) continue;
    if (runs.empty() || i > runs.back().to + most_break) runs.push_back({i, i, 0});
    runs.back().to = i + 1;
    runs.back().sum += height[i];
  }
  return runs;
}

Polyline points_of(const StrokeProfile& profile, const CellRun& run) {
  const std::size_t first = run.from * cell, last = std::min(profile.size(), run.to * cell + 1);
  if (last < first + 2) return {};
  return {profile.points().begin() + static_cast<std::ptrdiff_t>(first),
          profile.points().begin() + static_cast<std::ptrdiff_t>(last)};
}

panel::Srgb colour_of(const PanelPicture& picture, const Polyline& points) {
  cv::Vec3d sum;
  double count = 0;
  for (const Vec2& p : points) {
    const Vec2 q = picture.raster.raster_from_table(p);
    const cv::Point at(cvRound(q.x()), cvRound(q.y()));
    if (!cv::Rect({0, 0}, picture.bgr.size()).contains(at)) continue;
    sum += cv::Vec3d(picture.bgr.at<cv::Vec3b>(at));
    count += 1;
  }
  if (count > 0) sum /= count;
  return {cv::saturate_cast<std::uint8_t>(sum[2]), cv::saturate_cast<std::uint8_t>(sum[1]),
          cv::saturate_cast<std::uint8_t>(sum[0])};
}

}  // namespace

StrokeProfile::StrokeProfile(const PanelPicture& picture, const Polyline& line) : points_(evenly(line, step_along)) {
  const Polyline normals = left_normals(points_);
  samples_.resize(points_.size() * (2 * half_offsets + 1));
  std::size_t next = 0;
  for (std::size_t i = 0; i < points_.size(); ++i) {
    for (int k = -half_offsets; k <= half_offsets; ++k) {
      Sample& s = samples_[next++];
      s.departure =
          departure_at(picture, picture.raster.raster_from_table(points_[i] + k * offset_step * normals[i]), s.inside);
    }
  }
}

cv::Vec3f StrokeProfile::mean(std::size_t from, std::size_t to, double low, double high, int side, int* count) const {
  cv::Vec3f sum;
  int n = 0;
  for (int k = -half_offsets; k <= half_offsets; ++k) {
    if (side * k < 0 || (side != 0 && k == 0)) continue;
    const double o = std::abs(k) * offset_step;
    if (o < low || o > high) continue;
    for (std::size_t i = from; i < to; ++i) {
      const Sample& s = at(i, k);
      if (!s.inside) continue;
      sum += s.departure;
      ++n;
    }
  }
  if (count) *count = n;
  return n > 0 ? cv::Vec3f(sum * (1.0f / static_cast<float>(n))) : cv::Vec3f();
}

cv::Vec3f StrokeProfile::mean_at(int offset_index) const {
  cv::Vec3f sum;
  int n = 0;
  for (std::size_t i = 0; i < points_.size(); ++i) {
    const Sample& s = at(i, offset_index);
    if (!s.inside) continue;
    sum += s.departure;
    ++n;
  }
  return n > 0 ? cv::Vec3f(sum * (1.0f / static_cast<float>(n))) : cv::Vec3f();
}

double StrokeProfile::share_inside() const {
  std::size_t n = 0;
  for (std::size_t i = 0; i < points_.size(); ++i) n += at(i, 0).inside;
  return static_cast<double>(n) / static_cast<double>(points_.size());
}

Polyline drawn_part(const StrokeProfile& profile) {
  const std::vector<double> height =
      cell_heights(profile, against_sides(profile, 0, profile.size(), first_width).departure);
  std::vector<double> sorted = height;
  std::sort(sorted.begin(), sorted.end());
  const std::vector<CellRun> runs =
      high_runs(height, steady_share * sorted[sorted.size() - 1 - sorted.size() / top_of]);
  const auto best =
      std::max_element(runs.begin(), runs.end(), [](const CellRun& a, const CellRun& b) { return a.sum < b.sum; });
  const Polyline part = best == runs.end() ? Polyline{} : points_of(profile, *best);
  return part.size() < 2 ? profile.points() : part;
}

std::vector<Polyline> parts_in_ink(const StrokeProfile& profile, const cv::Vec3f& direction, double contrast) {
  std::vector<Polyline> parts;
  for (const CellRun& run : high_runs(cell_heights(profile, direction), half_inked * contrast)) {
    Polyline part = points_of(profile, run);
    if (part.size() >= 2) parts.push_back(std::move(part));
  }
  return parts;
}

Stroke measured_stroke(const PanelPicture& picture, const Polyline& line) {
  Stroke stroke;
  StrokeProfile profile(picture, line);
  stroke.width = first_width;
  Sides sides = against_sides(profile, 0, profile.size(), stroke.width);
  for (int round = 0; round < width_rounds && cv::norm(sides.departure) > no_height; ++round) {
    const cv::Vec3f direction = sides.departure * (1.0f / static_cast<float>(cv::norm(sides.departure)));
    profile = StrokeProfile(picture, smoothed(recentred(profile, direction, stroke.width), smooth_reach));
    stroke.width = width_of(profile, direction, stroke.width);
    sides = against_sides(profile, 0, profile.size(), stroke.width);
  }
  stroke.points = profile.points();
  stroke.length = geometry::length(stroke.points, false);
  stroke.departure = sides.departure;
  stroke.contrast = profile.share_inside() < least_inside ? 0 : sides.contrast;
  if (stroke.contrast == 0) return stroke;
  std::vector<double> cells;  // contrast of each, of that of the whole
  for (std::size_t from = 0; from < profile.size(); from += cell) {
    const Sides here = against_sides(profile, from, std::min(profile.size(), from + cell), stroke.width);
    cells.push_back(here.departure.dot(stroke.departure) / (stroke.contrast * stroke.contrast));
  }
  const auto steady = std::count_if(cells.begin(), cells.end(), [](double c) { return c > steady_share; });
  stroke.steadiness = static_cast<double>(steady) / static_cast<double>(cells.size());
  if (geometry::median(std::move(cells)) < least_median) stroke.contrast = 0;
  stroke.colour = colour_of(picture, stroke.points);
  return stroke;
}

double ink_at(const PanelPicture& picture, const Stroke& stroke, const Vec2& at) {
  bool inside = false;
  const cv::Vec3f d = departure_at(picture, picture.raster.raster_from_table(at), inside);
  return inside ? d.dot(stroke.departure) / (stroke.contrast * stroke.contrast) : 0;
}

DisplacedCopies::DisplacedCopies(const PanelPicture& picture, const Stroke& stroke)
    : picture_(picture), departure_(stroke.departure) {
  Polyline line;
  for (std::size_t i = 0; i < stroke.points.size(); i += copy_stride) line.push_back(stroke.points[i]);
  if (line.size() < 2) line.push_back(stroke.points.back());
  const Polyline normals = left_normals(line);
  const double low = stroke.width / 2 + flank_gap;
  for (std::size_t i = 0; i < line.size(); ++i) {
    middle_.push_back(picture.raster.raster_from_table(line[i]));
    for (const double o : {-low, low, -low - flank_width, low + flank_width})
      outer_.push_back(picture.raster.raster_from_table(line[i] + o * normals[i]));
  }
}

std::optional<double> DisplacedCopies::contrast(const Vec2& shift) const {
  const Vec2 by = picture_.raster.raster_from_table(shift) - picture_.raster.raster_from_table(Vec2::Zero());
  struct Sum {
    double along = 0;  // of the stroke's departure
    int count = 0, missed = 0;
  };
  // Gives up once too many places have missed the panel, as most copies of a long line do.
  const auto sum_over = [&](const Polyline& places, double most_missed) {
    Sum sum;
    std::array<Spot, asked_together> spots;
    for (std::size_t first = 0; first < places.size(); first += spots.size()) {
      const std::size_t some = std::min(spots.size(), places.size() - first);
      for (std::size_t i = 0; i < some; ++i) ask_for(spots[i] = spot_at(picture_, places[first + i] + by));
      for (std::size_t i = 0; i < some; ++i) {
        if (spots[i].inside()) {
          sum.along += departure_in(spots[i]).dot(departure_);
          ++sum.count;
        } else if (++sum.missed > most_missed) {
          return sum;
        }
      }
    }
    return sum;
  };
  const auto places = static_cast<double>(middle_.size());
  const Sum middle = sum_over(middle_, std::ceil((1 - copy_inside) * places));
  if (middle.count < copy_inside * places) return std::nullopt;
  const Sum outer = sum_over(outer_, static_cast<double>(outer_.size()));
  if (outer.count == 0) return std::nullopt;
  return (middle.along / middle.count - outer.along / outer.count) / std::max(no_height, cv::norm(departure_));
}

}  // namespace chalkfold::trace
