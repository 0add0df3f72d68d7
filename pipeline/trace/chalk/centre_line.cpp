// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/chalk/centre_line.h"

#include <algorithm>
#include <cmath>

#include "pipeline/geometry/line_fit.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/vectors.h"
#include "pipeline/trace/chalk/hand_drawn.h"

namespace chalkfold::trace {
namespace {

// fitted: no source but the centre lines found and invented, as chalkfold_marks_accuracy --renders 200 --seed 1000 tells.
constexpr double least_share = 0.2;     // of the panel's extent along it that the stroke must cover; fitted
constexpr double least_length = 60;     // mm: as long as the longest match mark
constexpr double most_residual = 0.08;  // rms of the reflection, of the panel's extent across the line: wear; fitted
constexpr double run_tolerance = 3;     // mm from the chord: a line drawn by hand bows; fitted
constexpr double piece_off = 3, piece_turn = 0.08;  // mm and rad by which pieces of one line may disagree; fitted
constexpr double reflection_step = 4;               // mm between the points compared: an outline bends over more

Vec2 mirrored_in(const Vec2& p, const Vec2& middle, const Vec2& direction) {
  const Vec2 d = p - middle;
  return middle + 2 * d.dot(direction) * direction - d;
}

double extent_along(const Polyline& points, const Vec2& direction) {
  double low = 1e300, high = -1e300;
  for (const Vec2& p : points) {
    low = std::min(low, p.dot(direction));
    high = std::max(high, p.dot(direction));
  }
  return high - low;
}

double reflection_rms(const geometry::ClosedOutline& outline, const Vec2& middle, const Vec2& direction) {
  double sum = 0, n = 0;
  for (double s = 0; s < outline.length(); s += 2 * reflection_step, n += 1) {
    const Vec2 m = mirrored_in(outline.at(s).point, middle, direction);
    sum += (outline.nearest(m).point - m).squaredNorm();
  }
  return std::sqrt(sum / n);
}

struct Candidate {
  geometry::FittedLine line;
  std::vector<std::size_t> strokes;
  double drawn = 0;  // mm
};

/// A stroke with all others that carry its line on.
std::optional<Candidate> candidate_from(std::size_t seed, const std::vector<Stroke>& strokes,
                                        const std::vector<bool>& used) {
  Polyline points = longest_straight_run(strokes[seed].points, run_tolerance);
  if (points.size() < 3) return std::nullopt;
  Candidate c{geometry::fit_line(points), {seed}, geometry::length(points, false)};
  for (std::size_t i = 0; i < strokes.size(); ++i) {
    if (i == seed || used[i]) continue;
    const Polyline run = longest_straight_run(strokes[i].points, run_tolerance);
    if (run.size() < 3) continue;
    const geometry::FittedLine other = geometry::fit_line(run);
    const Vec2 d = other.middle - c.line.middle;
    const double off = std::abs(d.x() * c.line.direction.y() - d.y() * c.line.direction.x());
    if (off > piece_off || std::abs(other.direction.dot(c.line.direction)) < std::cos(piece_turn)) continue;
    points.insert(points.end(), run.begin(), run.end());
    c.strokes.push_back(i);
    c.drawn += other.length();
  }
  c.line = geometry::fit_line(points);
  return c;
}

panel::CentreLine as_centre_line(const Candidate& c, const std::vector<Stroke>& strokes) {
  panel::CentreLine line;
  line.from = c.line.at(c.line.from);
  line.to = c.line.at(c.line.to);
  if (line.from.y() > line.to.y()) std::swap(line.from, line.to);
  line.straightness = c.line.rms;
  const LineSigma sigma = sigma_of_hand_drawn(c.line, c.drawn);
  line.sigma = sigma.across;
  line.sigma_angle = sigma.angle;
  const Stroke& first = strokes[c.strokes.front()];
  line.colour = first.colour;
  line.confidence = confidence_of(first);
  return line;
}

}  // namespace

double centre_agrees_offset(double extent_across) {
  constexpr double narrow = 4, of_extent = 0.015;  // mm; half of 3 %
  return std::max(narrow, of_extent * extent_across);
}

CentreLineResult find_centre_line(const std::vector<Stroke>& strokes, const geometry::ClosedOutline& fine,
                                  const std::vector<bool>& used) {
  CentreLineResult result;
  // Three millimetres between points: a mirror image is compared over the whole outline, and nearest places are sought thousands of times.
  constexpr double spacing = 3;
  constexpr std::size_t least_points = 24;  // of a panel too small for that
  // of a panel 7.5 m round: beyond, farther apart, so that the time is bounded
  constexpr std::size_t most_points = 2500;
  Polyline even = geometry::resample_closed(
      fine.points(), std::clamp(static_cast<std::size_t>(fine.length() / spacing), least_points, most_points));
  if (!(geometry::signed_area(even) > 0)) return result;  // crosses itself: it has no halves
  const geometry::ClosedOutline outline(std::move(even));
  double best = 1e300;
  for (std::size_t seed = 0; seed < strokes.size(); ++seed) {
    if (used[seed] || strokes[seed].length < least_length / 2) continue;
    const auto c = candidate_from(seed, strokes, used);
    if (!c) continue;
    const double along = extent_along(outline.points(), c->line.direction),
                 across = extent_along(outline.points(), Vec2(-c->line.direction.y(), c->line.direction.x()));
    if (c->line.length() < std::max(least_length, least_share * along) || c->drawn < c->line.length() / 2) continue;
    const double rms = reflection_rms(outline, c->line.middle, c->line.direction);
    if (rms > most_residual * across || rms >= best) continue;
    best = rms;
    result.line = as_centre_line(*c, strokes);
    result.strokes = c->strokes;
    result.reflection = geometry::fit_mirror_axis(outline.points(), c->line.middle, c->line.direction, std::nullopt);
    result.off_angle = std::acos(std::min(1.0, std::abs(result.reflection.direction.dot(c->line.direction))));
    const Vec2 normal = geometry::left_of(c->line.direction);
    result.off = std::abs((result.reflection.point - c->line.middle).dot(normal));
  }
  return result;
}

}  // namespace chalkfold::trace
