// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/edge/outline_run.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "pipeline/geometry/polygon.h"
#include "pipeline/trace/base/sharp_corners.h"
#include "pipeline/trace/edge/boundary_path.h"
#include "pipeline/trace/edge/coded_colour.h"

namespace chalkfold::trace {
namespace {

// fitted: outline_accuracy.py, seeds 9001, 21001, 31001, 41001, and the photographs
constexpr double corner_arm = 10;                            // mm, arms over which a corner's turn is measured; fitted
constexpr double corner_turn = 28 * std::numbers::pi / 180;  // rad, least turn of a corner; fitted
constexpr double corner_cut = 3.0;  // mm, most by which the followed boundary may cut a corner short; fitted
constexpr double fray_cut = 0.6;    // mm, by which fray or blur may cut it; more is looked up in the picture

/// Smooth base line through followed points first..last (circular), by local regression of x and y on the way along.
OutlineRun make_run(const Polyline& followed, std::size_t first, std::size_t count, bool closed) {
  constexpr std::size_t beside = 2;   // points beside a corner, which the followed boundary cuts short
  constexpr std::size_t enough = 12;  // points of a run that can spare them; fitted
  constexpr double fewest_steps = 3;  // of a run: an arm of its corners
  constexpr double base_window = 12;  // mm: irons out the quarter-millimetre steps of the followed boundary; fitted
  OutlineRun run;
  run.closed = closed;
  std::vector<LocalSample> xs, ys;
  double along = 0;
  for (std::size_t i = 0; i < count; ++i) {
    const Vec2& p = followed[(first + i) % followed.size()];
    if (i > 0) along += (p - followed[(first + i - 1) % followed.size()]).norm();
    const bool near_end = !closed && count > enough && (i < beside || i + beside >= count);
    xs.push_back({along, p.x(), near_end ? 0.0 : 1.0});
    ys.push_back({along, p.y(), near_end ? 0.0 : 1.0});
  }
  run.total = closed
                  ? along + (followed[first % followed.size()] - followed[(first + count - 1) % followed.size()]).norm()
                  : along;
  const double period = closed ? run.total : 0;
  const auto steps = static_cast<std::size_t>(std::max(fewest_steps, std::round(run.total / outline_spacing)));
  const std::size_t points = closed ? steps : steps + 1;
  for (std::size_t i = 0; i < points; ++i) {
    const double s = run.total * static_cast<double>(i) / static_cast<double>(steps);
    const LocalValue x = local_fit(xs, s, base_window, period), y = local_fit(ys, s, base_window, period);
    run.base.emplace_back(x.value, y.value);
    run.normals.push_back(Vec2(y.slope, -x.slope).normalized());
    run.along.push_back(s);
  }
  return run;
}

/// Is the tip of a corner panel or table? Colours between the followed boundary and the tip against panel and table beside the corner.
bool tip_is_panel(const BoundarySampler& sampler, const SharpCorner& c) {
  const Vec2 right_before(c.before.y(), -c.before.x()), right_after(c.after.y(), -c.after.x());
  Eigen::Vector3f panel = Eigen::Vector3f::Zero(), table = Eigen::Vector3f::Zero();
  const auto coded_at = [&](const Vec2& at) -> Eigen::Vector3f { return coded_of(sampler.colour_at(at)); };
  int count = 0;
  for (const double along : {4.0, 6.0, 8.0}) {  // mm, along the corner's arms
    for (const double off : {1.2, 2.0, 2.8}) {  // mm, past the edge's blur; the table a millimetre of shadow more
      panel += coded_at(c.point - along * c.before - off * right_before) +
               coded_at(c.point + along * c.after - off * right_after);
      table += coded_at(c.point - along * c.before + (off + 1) * right_before) +
               coded_at(c.point + along * c.after + (off + 1) * right_after);
      count += 2;
    }
  }
  panel /= static_cast<float>(count);
  table /= static_cast<float>(count);
  const Eigen::Vector3f axis = table - panel;
  int like_panel = 0, tried = 0;
  // Inside the tip's triangle, a little off its sides so that blur does not decide.
  for (const double a : {0.35, 0.65, 1.0}) {
    for (const double b : {0.35, 0.65, 1.0}) {
      const Vec2 at = c.point - a * c.cut * c.before + b * c.cut * c.after;
      like_panel += (coded_at(at) - panel).dot(axis) < 0.5f * axis.squaredNorm();
      ++tried;
    }
  }
  return 2 * like_panel > tried;
}

}  // namespace

std::vector<OutlineRun> make_runs(const BoundarySampler& sampler, const Polyline& followed) {
  const double spacing = geometry::length(followed, true) / static_cast<double>(followed.size());
  auto corners = find_sharp_corners(followed, spacing, corner_arm, corner_turn);
  std::erase_if(corners, [&](const SharpCorner& c) {
    return c.cut > corner_cut || (c.cut > fray_cut && !tip_is_panel(sampler, c));
  });
  std::vector<OutlineRun> runs;
  if (corners.empty()) {
    runs.push_back(make_run(followed, 0, followed.size(), true));
    return runs;
  }
  for (std::size_t c = 0; c < corners.size(); ++c) {
    const auto first = static_cast<std::size_t>(corners[c].at);
    const auto last = static_cast<std::size_t>(corners[(c + 1) % corners.size()].at);
    const std::size_t count = (last + followed.size() - first) % followed.size();
    runs.push_back(make_run(followed, first, (count == 0 ? followed.size() : count) + 1, false));
  }
  return runs;
}

std::vector<EdgeProfile> sample_run(const OutlineRun& run, const BoundarySampler& sampler) {
  constexpr double inside = 4.4;  // mm of panel beside the edge: grain averages out; fitted
  constexpr double outside = 4;   // mm of what adjoins it, wall and shadow with it; fitted
  constexpr double step = 0.2;    // mm: a pixel or less of a photograph of a table
  constexpr int rays = 3;         // averaged,
  constexpr double spread = 0.8;  // over so much of the way to the next point; fitted
  std::vector<EdgeProfile> profiles;
  for (std::size_t i = 0; i < run.base.size(); ++i) {
    profiles.push_back(
        sampler.profile(run.base[i], run.normals[i], -inside, outside, step, rays, spread * outline_spacing));
    set_tone_weights(profiles.back());
  }
  return profiles;
}

Vec2 corner_between(const Polyline& before, const Polyline& after) {
  constexpr std::size_t most_arm = 6;  // points, a window's half: a side is straight for so long; fitted
  constexpr double parallel = 0.1;     // sine of the turn: 6 degrees
  constexpr double farthest = 4;       // mm from both ends: beyond `corner_cut` there is no corner
  const std::size_t arm = std::min<std::size_t>({most_arm, before.size() - 1, after.size() - 1});
  const Vec2 &a = before.back(), &b = after.front();
  const Vec2 da = a - before[before.size() - 1 - arm], db = after[arm] - b;
  const double det = da.x() * db.y() - da.y() * db.x();
  Vec2 middle = 0.5 * (a + b);
  if (std::abs(det) < parallel * da.norm() * db.norm()) return middle;
  const Vec2 meet = a + da * (((b - a).x() * db.y() - (b - a).y() * db.x()) / det);
  return (meet - middle).norm() < farthest ? meet : middle;
}

void trim_to_corner(Polyline& points, std::vector<double>& sigma, const Vec2& corner, bool at_end) {
  constexpr double too_near = 0.3;   // mm from the corner, a third of a step
  constexpr std::size_t inward = 5;  // points, to tell which way the run goes on
  constexpr std::size_t fewest = 3;  // points of a run
  const auto passed = [&](const Vec2& p, const Vec2& inner) {
    return (p - corner).dot(inner - corner) <= 0 || (p - corner).norm() < too_near;
  };
  while (points.size() > fewest) {
    const std::size_t i = at_end ? points.size() - 1 : 0,
                      inner = at_end ? points.size() - 1 - std::min<std::size_t>(inward, points.size() - 1)
                                     : std::min<std::size_t>(inward, points.size() - 1);
    if (!passed(points[i], points[inner])) break;
    points.erase(points.begin() + static_cast<std::ptrdiff_t>(i));
    sigma.erase(sigma.begin() + static_cast<std::ptrdiff_t>(i));
  }
}

}  // namespace chalkfold::trace
