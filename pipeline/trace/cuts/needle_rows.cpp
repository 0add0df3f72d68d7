// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/cuts/needle_rows.h"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <opencv2/imgproc.hpp>
#include <optional>

#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/robust.h"

namespace chalkfold::trace {
namespace {

// fitted: no source but the rows found and invented, as chalkfold_marks_accuracy --renders 200 --seed 1000 tells.
constexpr double least_depth = 2.5, most_depth = 26;  // mm from the edge: allowances of 5 to 20 and a top-stitching row
constexpr double hole = 1.1;                // mm: needles of size 90 to 130 are 0.9 to 1.3 mm thick (from memory)
constexpr double least_length = 30;         // mm of row: six holes at a usual pitch
constexpr double least_found = 0.6;         // share of the holes that the pitch asks for; fitted
constexpr double least_worth = 0.6;         // spreads left over a hole when gaps and unevenness are paid; fitted
constexpr double control_depth = 30;        // mm: past the deepest row and its own width, bare material
constexpr double least_over_control = 2.0;  // worth of a row, of the best row that the bare material shows; fitted
constexpr double resolution = 0.3;          // mm per px of the strip: a hole is some four px wide
constexpr double pitch_step = 0.25;         // mm between pitches tried: off by half of it, a step costs next to nothing
constexpr double own_dot = 1.6;             // spreads above the median: 5 % of a normal's own dots bring anything
constexpr double most_worth = 8;            // of one dot: a black speck is no better a hole than a clear one; fitted
constexpr double missing_hole = 1.2;        // cost of a place without a hole; fitted
constexpr double worn_cost = 0.08;          // cost per mm of a break; fitted
constexpr double uneven_weight = 14;  // cost of a step's departure from the pitch, as a share of it, squared; fitted
constexpr double slope_weight = 30;   // cost of a step's slope against the edge, squared; fitted
constexpr double most_slope = 0.2, most_wander = 0.35;  // of a step, and mm: a seam by hand against the edge; fitted
constexpr double slope_run = 12;                        // mm: over a longer break a row does not lead farther aside
// pitches: a step is no shorter; a longer one is a break, no lost hole
constexpr double least_step = 0.7, gap_step = 2.6;
constexpr double roundness = 0.25;       // of the larger curvature, the smaller one of a round dot; fitted
constexpr double beside = 1.6;           // mm: dots so near a row are of the row, one and a half holes
constexpr double second_share = 0.55;    // worth of a second row, of the first's; fitted
constexpr std::size_t smooth_reach = 5;  // holes either side over which the sew line is straightened; fitted
constexpr std::size_t most_rows = 2;     // a seam and its top-stitching
constexpr std::size_t least_holes = 6;   // as many as least_length holds
constexpr std::size_t few_dots = 8;      // fewer say nothing of the material: its spread is off by a quarter
constexpr double enough_bare = 0.3;      // share of the strip farther in, that must lie on the panel; fitted
// spreads above the bare material's median: the middle dot where half are holes; fitted
constexpr double half_holes = 4.0;
constexpr double spread_of_none = 2.0;  // of 255: a camera's noise, where a material shows no dots of its own
constexpr double most_spread = 1.6;     // mm of a row's depth: a seam keeps its distance; fitted
constexpr double least_sigma = 0.05;    // mm, of a row's place: a sixth of a px

// Of a normal: the shares below one standard deviation up and down; and how many up a fifth of it begins.
constexpr double one_up = 0.84, one_down = 0.16, upper_share = 0.8, upper_at = 0.84;

struct Dot {
  double along = 0, depth = 0;  // mm in the strip
  double worth = 0;             // darkness in spreads above the median, less own_dot, clipped
};

/// Darkness of round dots of the hole's size.
cv::Mat dot_response(const EdgeStrip& strip) {
  cv::Mat grey, level, fine, coarse;
  cv::cvtColor(strip.bgr, grey, cv::COLOR_BGR2GRAY);
  grey.convertTo(level, CV_32F);
  // A disc of radius r answers most at r / sqrt(2), 0.354 of its diameter; two Gaussians twice as wide as each other stand for the Laplacian.
  constexpr double of_diameter = 0.36, wider = 2;
  const double sigma = of_diameter * hole / strip.mm_per_px;
  cv::GaussianBlur(level, fine, {}, sigma);
  cv::GaussianBlur(level, coarse, {}, wider * sigma);
  return coarse - fine;
}

/// What dots there are, and the scale that their worth is measured on.
struct DotScale {
  double median = 0, spread = 0;
};

std::vector<Dot> dark_dots(const EdgeStrip& strip) {
  const cv::Mat response = dot_response(strip);
  std::vector<Dot> dots;
  constexpr int border = 2;  // px, over which a dot is the darkest
  const int columns = response.cols;
  for (int y = border; y + border < response.rows; ++y) {
    const auto* row = response.ptr<float>(y);
    for (int x = border; x + border < columns; ++x) {
      const float here = row[x];
      // Most fall to one of the two neighbours in the row already.
      if (here <= 0 || row[x - 1] >= here || row[x + 1] > here) continue;
      bool top = true;
      for (int dy = -border; dy <= border && top; ++dy) {
        for (int dx = -border; dx <= border && top; ++dx) {
          const float other = response.at<float>(y + dy, x + dx);
          top = (dx == 0 && dy == 0) || other < here || (other == here && (dy > 0 || (dy == 0 && dx > 0)));
        }
      }
      if (!top) continue;
      const auto vertex = [&](float a, float b, float c) {
        return a - 2 * b + c < 0 ? 0.5 * (a - c) / (a - 2 * b + c) : 0.0;
      };
      const double fx = vertex(response.at<float>(y, x - 1), here, response.at<float>(y, x + 1)),
                   fy = vertex(response.at<float>(y - 1, x), here, response.at<float>(y + 1, x));
      // Round: both curvatures alike. A dark thread's dash or a crease is long one way.
      const double cx = 2 * here - response.at<float>(y, x - 2) - response.at<float>(y, x + 2),
                   cy = 2 * here - response.at<float>(y - 2, x) - response.at<float>(y + 2, x);
      if (std::min(cx, cy) < roundness * std::max(cx, cy)) continue;
      dots.push_back({strip.along_of(x + fx), strip.depth_of(y + fy), static_cast<double>(here)});
    }
  }
  std::sort(dots.begin(), dots.end(),
            [](const Dot& a, const Dot& b) { return std::tie(a.along, a.depth) < std::tie(b.along, b.depth); });
  return dots;
}

/// Turns darkness into worth: spreads above the median of these dots. Returns the scale, so that others can be put on it.
DotScale scale_of(const std::vector<Dot>& dots) {
  constexpr double least_spread = 0.8;  // of 255: noise alone makes dots too
  std::vector<double> levels;
  levels.reserve(dots.size());
  for (const Dot& d : dots) levels.push_back(d.worth);
  DotScale scale;
  scale.median = geometry::quantile(levels, 0.5);
  scale.spread = std::max(least_spread, (geometry::quantile(levels, upper_share) - scale.median) / upper_at);
  return scale;
}

void put_on_scale(std::vector<Dot>& dots, const DotScale& scale) {
  for (Dot& d : dots) d.worth = std::min((d.worth - scale.median) / scale.spread - own_dot, most_worth);
}

struct Chain {
  std::vector<std::size_t> dots;
  double worth = 0, pitch = 0;
};

/// Cost of going from one dot to the next; nullopt when no row does.
std::optional<double> step_cost(const Dot& a, const Dot& b, double pitch) {
  const double run = b.along - a.along, rise = b.depth - a.depth;
  if (run < least_step * pitch || std::abs(rise) > most_wander + most_slope * std::min(run, slope_run))
    return std::nullopt;
  const double steps = std::max(1.0, std::round(run / pitch));
  if (run > gap_step * pitch) {
    if (run > longest_row_break) return std::nullopt;
    return 2 * missing_hole + worn_cost * run + slope_weight * (rise / run) * (rise / run);
  }
  const double uneven = (run - steps * pitch) / pitch, slope = rise / run;
  return (steps - 1) * missing_hole + uneven_weight * uneven * uneven + slope_weight * slope * slope;
}

Chain best_chain(const std::vector<Dot>& dots, const std::vector<bool>& gone, double pitch) {
  std::vector<double> total(dots.size(), 0);
  std::vector<int> from(dots.size(), -1);
  Chain chain;
  chain.pitch = pitch;
  std::size_t end = dots.size();
  std::size_t low = 0;
  for (std::size_t i = 0; i < dots.size(); ++i) {
    if (gone[i] || dots[i].worth < 0) continue;
    while (dots[i].along - dots[low].along > longest_row_break) ++low;
    double best = 0;
    for (std::size_t k = i; k-- > low;) {
      if (from[k] == -2 || total[k] <= best || gone[k] || dots[k].worth < 0) continue;
      if (const auto cost = step_cost(dots[k], dots[i], pitch); cost && total[k] - *cost > best) {
        best = total[k] - *cost;
        from[i] = static_cast<int>(k);
      }
    }
    total[i] = best + dots[i].worth;
    if (total[i] > chain.worth) {
      chain.worth = total[i];
      end = i;
    }
  }
  for (int i = end == dots.size() ? -1 : static_cast<int>(end); i >= 0; i = from[static_cast<std::size_t>(i)])
    chain.dots.push_back(static_cast<std::size_t>(i));
  std::reverse(chain.dots.begin(), chain.dots.end());
  return chain;
}

Chain best_of_all_pitches(const std::vector<Dot>& dots, const std::vector<bool>& gone) {
  Chain best;
  for (double pitch = least_needle_pitch; pitch <= most_needle_pitch + 1e-9; pitch += pitch_step) {
    Chain c = best_chain(dots, gone, pitch);
    if (c.worth > best.worth) best = std::move(c);
  }
  return best;
}

/// A straight line through the neighbours of each hole, along against depth: the sew line without the needle's own wander.
Polyline straightened(const EdgeStrip& strip, const std::vector<Dot>& dots, const Chain& chain, double& scatter) {
  Polyline line;
  double sum = 0;
  const auto n = chain.dots.size();
  for (std::size_t i = 0; i < n; ++i) {
    const std::size_t low = i < smooth_reach ? 0 : i - smooth_reach, high = std::min(n - 1, i + smooth_reach);
    double s = 0, sx = 0, sy = 0, sxx = 0, sxy = 0;
    const double x0 = dots[chain.dots[i]].along;
    for (std::size_t k = low; k <= high; ++k) {
      const Dot& d = dots[chain.dots[k]];
      const double x = d.along - x0;
      s += 1;
      sx += x;
      sy += d.depth;
      sxx += x * x;
      sxy += x * d.depth;
    }
    const double det = s * sxx - sx * sx, depth = det > 1e-9 ? (sxx * sy - sx * sxy) / det : sy / s;
    sum += (depth - dots[chain.dots[i]].depth) * (depth - dots[chain.dots[i]].depth);
    line.push_back(strip.table_from_strip(x0 / strip.mm_per_px, (depth - strip.first_depth) / strip.mm_per_px));
  }
  scatter = std::sqrt(sum / static_cast<double>(n));
  return line;
}

std::optional<panel::NeedleRow> as_row(const EdgeStrip& strip, const std::vector<Dot>& dots, const Chain& chain) {
  if (chain.dots.size() < least_holes || chain.worth < least_worth * static_cast<double>(chain.dots.size()))
    return std::nullopt;
  const auto place = [&](const Dot& d) {
    return strip.table_from_strip(d.along / strip.mm_per_px, (d.depth - strip.first_depth) / strip.mm_per_px);
  };
  const double length = dots[chain.dots.back()].along - dots[chain.dots.front()].along;
  constexpr double one_step = 1.5;  // pitches: no hole is missing in it
  double worth = 0, breaks = 0;
  std::vector<double> steps, depths;
  for (std::size_t i = 0; i < chain.dots.size(); ++i) {
    const Dot& d = dots[chain.dots[i]];
    worth += d.worth + own_dot;
    depths.push_back(d.depth);
    if (i == 0) continue;
    const double run = d.along - dots[chain.dots[i - 1]].along;
    if (run < one_step * chain.pitch) steps.push_back((place(d) - place(dots[chain.dots[i - 1]])).norm());
    if (run > gap_step * chain.pitch) breaks += run;
  }
  if (length < least_length || steps.empty() || length - breaks < 0.5 * length) return std::nullopt;
  panel::NeedleRow row;
  row.pitch = geometry::quantile(steps, 0.5);
  row.found_share = std::min(1.0, static_cast<double>(chain.dots.size()) / ((length - breaks) / row.pitch + 1));
  const double darkness = worth / static_cast<double>(chain.dots.size());
  if (row.found_share < least_found) return std::nullopt;
  if (0.5 * (geometry::quantile(depths, one_up) - geometry::quantile(depths, one_down)) > most_spread)
    return std::nullopt;
  double scatter = 0;
  row.points = straightened(strip, dots, chain, scatter);
  row.allowance = geometry::quantile(depths, 0.5);
  row.allowance_spread = 0.5 * (geometry::quantile(depths, one_up) - geometry::quantile(depths, one_down));
  row.sigma = std::max(least_sigma, scatter / std::sqrt(2.0 * smooth_reach));
  row.confidence = row.found_share * darkness / (darkness + 1) * std::min(1.0, length / (2 * least_length));
  return row;
}

/// A strip as wide as that beside the edge, farther in, where no seam was: what the bare material shows. It costs as much as the strip beside the edge,
/// and most edges can do without: it is made when it is asked.
class BareMaterial {
 public:
  BareMaterial(const cv::Mat& photo_bgr, const survey::TableView& view, const geometry::ClosedOutline& outline,
               const EdgeBase& base, double height)
      : outline_(outline),
        strip_(edge_strip(photo_bgr, view, base, height, control_depth, control_depth + most_depth - least_depth,
                          resolution)),
        dots_(dark_dots(strip_)) {}

  /// The scale of its own dots; nullopt when too little of the strip lies on the panel to say.
  std::optional<DotScale> scale() const {
    std::vector<Dot> own;
    std::copy_if(dots_.begin(), dots_.end(), std::back_inserter(own), [&](const Dot& d) { return is_bare(d); });
    if (own.size() >= few_dots) return scale_of(own);
    if (share_bare() < enough_bare) return std::nullopt;
    return DotScale{0, spread_of_none};
  }

  /// Worth of the best row that it shows.
  double worth_of_row(const DotScale& scale) const {
    std::vector<Dot> dots = dots_;
    put_on_scale(dots, scale);
    std::vector<bool> gone(dots.size(), false);
    for (std::size_t i = 0; i < dots.size(); ++i) gone[i] = dots[i].worth >= 0 && !is_bare(dots[i]);
    return best_of_all_pitches(dots, gone).worth;
  }

 private:
  bool is_bare(const Dot& d) const {
    const Vec2 at =
        strip_.table_from_strip(d.along / strip_.mm_per_px, (d.depth - strip_.first_depth) / strip_.mm_per_px);
    return geometry::contains(outline_.points(), at) && (outline_.nearest(at).point - at).norm() >= most_depth + 1;
  }

  double share_bare() const {
    constexpr double step = 5;  // mm
    int bare = 0, all = 0;
    for (double along = 0; along < strip_.along_of(strip_.bgr.cols - 1); along += step) {
      for (double row = 0; row < strip_.bgr.rows; row += step / strip_.mm_per_px, ++all)
        bare += is_bare({along, strip_.depth_of(row), 0});
    }
    return all > 0 ? static_cast<double>(bare) / all : 0;
  }

  const geometry::ClosedOutline& outline_;
  EdgeStrip strip_;
  std::vector<Dot> dots_;
};

/// The scale that dots beside the edge are measured on: that of all of them, most of which are the material's own; or, on a material that shows so
/// few that a seam's holes may be the half of them, that of the bare material.
template <class BareMaterialMade>
DotScale scale_beside_edge(const std::vector<Dot>& dots, double length, BareMaterialMade&& bare) {
  const DotScale all = scale_of(dots);
  if (static_cast<double>(dots.size()) > 2 * static_cast<double>(most_rows) * length / least_needle_pitch) return all;
  const auto own = bare().scale();
  return own && all.median > own->median + half_holes * own->spread ? *own : all;
}

}  // namespace

std::vector<panel::NeedleRow> find_needle_rows(const cv::Mat& photo_bgr, const survey::TableView& view,
                                               const geometry::ClosedOutline& outline, const EdgeBase& base,
                                               double height) {
  const EdgeStrip strip = edge_strip(photo_bgr, view, base, height, least_depth, most_depth, resolution);
  std::vector<Dot> dots = dark_dots(strip);
  if (dots.size() < few_dots) return {};
  std::optional<BareMaterial> made;
  const auto material = [&]() -> const BareMaterial& {
    if (!made) made.emplace(photo_bgr, view, outline, base, height);
    return *made;
  };
  const DotScale scale = scale_beside_edge(dots, strip.along_of(strip.bgr.cols - 1), material);
  put_on_scale(dots, scale);
  std::optional<double> bare;  // worth of the best row without a seam
  std::vector<bool> gone(dots.size(), false);
  std::vector<panel::NeedleRow> rows;
  double first = 0;
  while (rows.size() < most_rows && !dots.empty()) {
    const Chain chain = best_of_all_pitches(dots, gone);
    if (chain.dots.empty() || chain.worth < second_share * first) break;
    auto row = as_row(strip, dots, chain);
    if (!row) break;
    if (!bare) bare = material().worth_of_row(scale);
    if (chain.worth < least_over_control * *bare) break;
    first = std::max(first, chain.worth);
    rows.push_back(std::move(*row));
    // What lies along this row is not a second one.
    for (std::size_t i = 0; i < dots.size(); ++i) {
      const auto next = std::lower_bound(chain.dots.begin(), chain.dots.end(), i);
      for (const auto k : {next == chain.dots.end() ? chain.dots.back() : *next,
                           next == chain.dots.begin() ? chain.dots.front() : *(next - 1)}) {
        if (std::abs(dots[k].along - dots[i].along) < most_needle_pitch &&
            std::abs(dots[k].depth - dots[i].depth) < beside)
          gone[i] = true;
      }
    }
  }
  return rows;
}

}  // namespace chalkfold::trace
