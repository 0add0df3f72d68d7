// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/chalk/grain_line.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "pipeline/geometry/line_fit.h"
#include "pipeline/trace/base/stroke_shape.h"
#include "pipeline/trace/chalk/hand_drawn.h"
#include "pipeline/trace/chalk/stroke_profile.h"

namespace chalkfold::trace {
namespace {

// fitted: no source but the grain lines found and invented, as chalkfold_marks_accuracy --renders 200 --seed 1000 tells.
constexpr double least_length = 35;  // mm, of the shaft: the head alone is up to 30; fitted
constexpr double least_alone = 25;   // significance of the shaft when no match mark has its colour; fitted
// ink (1 on the shaft) along a head's side: half, and a little less for chalk's grain
constexpr double least_leg = 0.45;
constexpr double run_tolerance = 2;  // mm from the chord: the shaft's chain runs on into a side of the head
constexpr double degree = std::numbers::pi / 180;
// degrees between shaft and a side of the head; fitted
constexpr double least_angle = 12, most_angle = 64, angle_step = 4;
constexpr double beyond = 24;                      // degrees farther out, where the material is bare again
constexpr double most_lopsided = 34;               // degrees by which the two sides may differ; fitted
constexpr double apex_before = 8, apex_after = 6;  // mm about the shaft's end, in which the head's point is looked for
constexpr double apex_step = 1;                    // mm between the places tried: half a stroke's width
constexpr double ray_step = panel_mm_per_px;       // mm along a side
constexpr double least_read = -0.5, most_read = 1.5;  // ink: what one crumb or speck may count on a side; fitted
constexpr double read_width = 2.5;      // shaft widths from the point: nearer, shaft and sides run together
constexpr double read_over = 5;         // mm along a side: the shortest head drawn is about 8 long
constexpr double clear_of_heads = 45;   // mm from the shaft's ends: past heads of 32
constexpr double bare_step = 20;        // mm between places on the shaft where a head is looked for in vain
constexpr double least_bare_leg = 0.2;  // ink along both sides of what passes for a head there; fitted
constexpr double over_bare = 1.4;       // a head, of what passes for one; fitted
constexpr double head_radius = 32;      // mm: strokes that begin and end so near the point belong to the head
constexpr double surely_ink = 0.8;      // of a head, for full confidence: chalk is grainy; fitted

struct Head {
  double ink = 0;  // mean of the two sides; 0 when there is none
  Vec2 point = Vec2::Zero();
};

/// Mean ink along a ray from a point, between two distances.
double ink_along(const PanelPicture& picture, const Stroke& shaft, const Vec2& from, const Vec2& way, double low,
                 double high) {
  double sum = 0;
  int n = 0;
  for (double r = low; r <= high; r += ray_step, ++n)
    sum += std::clamp(ink_at(picture, shaft, from + r * way), least_read, most_read);
  return sum / n;
}

Vec2 turned(const Vec2& v, double angle) {
  return {std::cos(angle) * v.x() - std::sin(angle) * v.y(), std::sin(angle) * v.x() + std::cos(angle) * v.y()};
}

/// The head at one end of a shaft that runs along `out`.
Head head_at(const PanelPicture& picture, const Stroke& shaft, const Vec2& end, const Vec2& out, double least) {
  Head best;
  const double low = read_width * shaft.width, high = low + read_over;
  for (double shift = -apex_before; shift <= apex_after; shift += apex_step) {
    const Vec2 point = end + shift * out;
    double side[2] = {0, 0}, angle[2] = {0, 0};
    for (const int k : {0, 1}) {
      const double sign = k == 0 ? 1 : -1;
      for (double a = least_angle; a <= most_angle; a += angle_step) {
        const double here = ink_along(picture, shaft, point, turned(-out, sign * a * degree), low, high);
        const double bare = ink_along(picture, shaft, point, turned(-out, sign * (a + beyond) * degree), low, high);
        if (here - std::max(0.0, bare) > side[k]) {
          side[k] = here - std::max(0.0, bare);
          angle[k] = a;
        }
      }
    }
    const double weaker = std::min(side[0], side[1]), mean = 0.5 * (side[0] + side[1]);
    if (weaker >= least && std::abs(angle[0] - angle[1]) <= most_lopsided && mean > best.ink) best = {mean, point};
  }
  return best;
}

/// The strongest that the material itself passes for a head, beside the shaft where none can be.
double ink_without_head(const PanelPicture& picture, const Stroke& shaft, const geometry::FittedLine& line) {
  double most = 0;
  for (double t = line.from + clear_of_heads; t <= line.to - clear_of_heads; t += bare_step)
    for (const double sign : {-1.0, 1.0})
      most = std::max(most, head_at(picture, shaft, line.at(t), sign * line.direction, least_bare_leg).ink);
  return most;
}

}  // namespace

GrainLineResult find_grain_line(const PanelPicture& picture, const std::vector<Stroke>& strokes,
                                const std::vector<bool>& used) {
  GrainLineResult result;
  double best = 0;
  for (std::size_t i = 0; i < strokes.size(); ++i) {
    if (used[i]) continue;
    const Polyline run = longest_straight_run(strokes[i].points, run_tolerance);
    if (run.size() < 3) continue;
    const geometry::FittedLine line = geometry::fit_line(run);
    if (line.length() < least_length) continue;
    if (strokes[i].significance < least_alone && !shares_an_ink(strokes[i], strokes, used)) continue;
    const Vec2 first = line.at(line.from), last = line.at(line.to);
    const Head at_first = head_at(picture, strokes[i], first, -line.direction, least_leg);
    const Head at_last = head_at(picture, strokes[i], last, line.direction, least_leg);
    const double ink = std::max(at_first.ink, at_last.ink);
    if (ink <= best || ink < over_bare * ink_without_head(picture, strokes[i], line)) continue;
    best = ink;
    panel::GrainLine grain;
    grain.directed = !(at_first.ink > 0 && at_last.ink > 0);
    const bool head_first = at_first.ink > at_last.ink;
    grain.tail = head_first ? last : first;
    // the shaft's chain may end short of it or run past it
    const Vec2 point = head_first ? at_first.point : at_last.point;
    grain.head = line.at((point - line.middle).dot(line.direction));
    const LineSigma sigma = sigma_of_hand_drawn(line, line.length());
    grain.sigma = sigma.across;
    grain.sigma_angle = sigma.angle;
    grain.confidence = confidence_of(strokes[i]) * std::min(1.0, ink / surely_ink);
    grain.colour = strokes[i].colour;
    result.line = grain;
    result.strokes = {i};
    for (std::size_t k = 0; k < strokes.size(); ++k) {
      if (k == i || used[k]) continue;
      for (const Head& head : {at_first, at_last}) {
        if (head.ink == 0) continue;
        const double a = (strokes[k].points.front() - head.point).norm(),
                     b = (strokes[k].points.back() - head.point).norm();
        if (std::max(a, b) < head_radius && std::min(a, b) < head_radius / 2) {
          result.strokes.push_back(k);
          break;
        }
      }
    }
  }
  return result;
}

}  // namespace chalkfold::trace
