// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/join_outlines.h"

#include <algorithm>
#include <cmath>

#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/regions.h"
#include "pipeline/geometry/robust.h"
#include "pipeline/geometry/segment.h"
#include "pipeline/trace/edge/outline_fit_options.h"

namespace chalkfold::trace {
namespace {

// mm inside the border of `seen` over which a view's weight grows: no step where one photo takes over; its outline bends there over some 15 mm
constexpr double feather = 60;
constexpr double least_step = 0.4;  // mm between outline points: nearer together, their direction is rounding
constexpr double least_U = 1e-3;    // mm: keeps weights finite
constexpr std::size_t fewest = 8;   // points of an outline

/// Nearest places on one closed line, asked for in order along it.
class NearestOn {
 public:
  explicit NearestOn(const Polyline& line) : line_(line) {}

  struct Place {
    Vec2 at = Vec2::Zero();
    /// segment from -> from + 1
    std::size_t from = 0;
    /// of the segment
    double share = 0;
    double distance = 1e300;
  };

  Place nearest(const Vec2& p) {
    constexpr std::size_t window = 40;  // segments either side of the last place, for speed
    const std::size_t n = line_.size();
    Place best;
    if (n > 2 * window + 1) {
      for (std::size_t d = 0; d <= 2 * window; ++d) look(p, (last_ + n + d - window) % n, best);
    }
    constexpr double sure = 1;  // mm: farther off, another stretch may be nearer
    if (best.distance > sure) {
      for (std::size_t i = 0; i < n; ++i) look(p, i, best);
    }
    last_ = best.from;
    return best;
  }

 private:
  void look(const Vec2& p, std::size_t i, Place& best) const {
    const geometry::SegmentPlace place = geometry::nearest_on_segment(p, line_[i], line_[(i + 1) % line_.size()]);
    const double distance = (p - place.point).norm();
    if (distance < best.distance) best = {place.point, i, place.share, distance};
  }

  const Polyline& line_;
  std::size_t last_ = 0;
};

double between(const std::vector<double>& values, const NearestOn::Place& place) {
  const double a = values[place.from], b = values[(place.from + 1) % values.size()];
  return a + place.share * (b - a);
}

/// 1 well inside what the photo is to be believed in, falling to almost 0 at its border, 0 outside.
double belief(const OutlineView& view, const Vec2& at) {
  if (view.seen.empty()) return 1;
  if (!geometry::contains(view.seen, at)) return 0;
  constexpr double least = 1e-3;  // a view that is alone counts in full even at its border
  return std::clamp(geometry::distance_to(view.seen, at, true) / feather, least, 1.0);
}

void drop_crowded(Polyline& points) {
  Polyline kept;
  for (const Vec2& p : points)
    if (kept.empty() || (p - kept.back()).norm() >= least_step) kept.push_back(p);
  while (kept.size() > 3 && (kept.front() - kept.back()).norm() < least_step) kept.pop_back();
  points = std::move(kept);
}

/// Points on straight stretches, which uniting areas leaves out.
void fill_long_steps(Polyline& points) {
  constexpr double most_steps = 1.5;  // outline spacings
  Polyline filled;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const Vec2 &a = points[i], &b = points[(i + 1) % points.size()];
    const int steps = std::max(1, static_cast<int>(std::ceil((b - a).norm() / (most_steps * outline_spacing))));
    for (int k = 0; k < steps; ++k) filled.push_back(a + k * (b - a) / steps);
  }
  points = std::move(filled);
}

/// A line near the truth all round: the best whole view, or what the parts cover together.
Polyline guide_of(const std::vector<OutlineView>& views) {
  const OutlineView* best = nullptr;
  for (const OutlineView& v : views)
    if (v.seen.empty() && (!best || geometry::median(v.U) < geometry::median(best->U))) best = &v;
  if (best) return best->points;
  std::vector<Polyline> parts;
  for (const OutlineView& v : views)
    for (Polyline& part : geometry::overlap(v.points, v.seen)) parts.push_back(std::move(part));
  std::vector<Polyline> whole = geometry::united(parts);
  if (whole.empty()) return {};
  drop_crowded(whole.front());
  fill_long_steps(whole.front());
  return whole.front();
}

/// One guide point's part in the mean.
struct Share {
  double weight = 0, sigma = 0;
  Vec2 at = Vec2::Zero();
  /// its line is elsewhere
  bool contrary = false;
};

Share share_of(const OutlineView& view, NearestOn& line, const Vec2& p) {
  const double believed = belief(view, p);
  if (believed <= 0) return {};
  const NearestOn::Place place = line.nearest(p);
  constexpr double sure = 0.5;  // nearer to the border of what is seen the outline may leave it
  if (place.distance > same_edge_reach) return {0, 0, Vec2::Zero(), believed >= sure};
  const double U = std::max(least_U, between(view.U, place));
  return {believed / (U * U), between(view.sigma, place), place.at, false};
}

}  // namespace

std::optional<JoinedOutline> join_outlines(const std::vector<OutlineView>& views, OutlineGap* gap) {
  JoinedOutline joined;
  joined.points = guide_of(views);
  const std::size_t n = joined.points.size();
  if (n < fewest) {
    // Next to nothing is seen surely: all of the largest view's outline is the gap.
    double longest = 0;
    for (const OutlineView& v : views) longest = std::max(longest, geometry::length(v.points, true));
    if (gap && !views.empty()) *gap = {geometry::centroid(views.front().points), longest};
    return std::nullopt;
  }
  std::vector<std::vector<Share>> shares(views.size(), std::vector<Share>(n));
  double unseen = 0;
  Vec2 unseen_at = Vec2::Zero();
  constexpr int rounds = 2;  // the second from the mean of the first: corners settle
  for (int round = 0; round < rounds; ++round) {
    std::vector<NearestOn> lines;
    lines.reserve(views.size());
    for (const OutlineView& v : views) lines.emplace_back(v.points);
    for (std::size_t i = 0; i < n; ++i) {
      double sum = 0;
      Vec2 move = Vec2::Zero();
      for (std::size_t v = 0; v < views.size(); ++v) {
        const Share& s = shares[v][i] = share_of(views[v], lines[v], joined.points[i]);
        sum += s.weight;
        if (s.weight > 0) move += s.weight * (s.at - joined.points[i]);
      }
      if (sum > 0) {
        for (auto& view : shares) view[i].weight /= sum;
        joined.points[i] += move / sum;
      } else if (round == 0) {
        const double before = (joined.points[i] - joined.points[(i + n - 1) % n]).norm(),
                     after = (joined.points[(i + 1) % n] - joined.points[i]).norm();
        unseen += 0.5 * (before + after);
        unseen_at = joined.points[i];
      }
    }
  }
  if (unseen > 0) {
    if (gap) *gap = {unseen_at, unseen};
    return std::nullopt;
  }
  joined.sigma.assign(n, 0);
  for (std::size_t v = 0; v < views.size(); ++v) {
    joined.weights.emplace_back(n, 0.0);
    joined.off.emplace_back(n, 0.0);
    joined.contrary.emplace_back(n, false);
    for (std::size_t i = 0; i < n; ++i) {
      const Share& s = shares[v][i];
      joined.contrary[v][i] = s.contrary;
      if (s.weight <= 0) continue;
      joined.weights[v][i] = s.weight;
      joined.sigma[i] += std::pow(s.weight * s.sigma, 2);
      const Vec2 along = (joined.points[(i + 1) % n] - joined.points[(i + n - 1) % n]).normalized();
      joined.off[v][i] = Vec2(along.y(), -along.x()).dot(s.at - joined.points[i]);
    }
  }
  for (double& s : joined.sigma) s = std::sqrt(s);
  return joined;
}

}  // namespace chalkfold::trace
