// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/curve_split.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>

#include "pipeline/common/check_option.h"
#include "pipeline/common/require.h"
#include "pipeline/geometry/line_fit.h"
#include "pipeline/geometry/vectors.h"

namespace chalkfold::geometry {
namespace {

/// Weighted moments of points about their centroid; z is the square of the distance to it.
struct Moments {
  Vec2 centroid = Vec2::Zero();
  double xx = 0, xy = 0, yy = 0, xz = 0, yz = 0, zz = 0;
};

double wrapped(double angle) { return std::remainder(angle, 2 * std::numbers::pi); }
double angle_of(const Vec2& v) { return std::atan2(v.y(), v.x()); }

/// A part fitted alone.
struct Alone {
  bool straight = true;
  /// a point on the line, or the circle's centre
  Vec2 centre = Vec2::Zero();
  /// of the line
  Vec2 along = Vec2::UnitX();
  double radius = 0;
  double turn = 0, from_direction = 0, to_direction = 0, length = 0;
  double rss = 0;
  /// point
  std::size_t first = 0;
  bool good = false;

  double distance(const Vec2& p) const {
    const Vec2 d = p - centre;
    return straight ? along.x() * d.y() - along.y() * d.x() : (radius - d.norm()) * (turn >= 0 ? 1 : -1);
  }
};

class Splitter {
 public:
  Splitter(const WeightedPoints& points, const SplitOptions& options) : points_(points), options_(options) {
    const Vec2 middle = points.points[points.points.size() / 2];
    station_.push_back(0);
    for (std::size_t i = 0; i < points.points.size(); ++i) {
      local_.push_back(points.points[i] - middle);
      if (i > 0) station_.push_back(station_.back() + (points.points[i] - points.points[i - 1]).norm());
    }
    const double step = std::max(options.least_length, station_.back() / 60);
    nodes_.push_back(0);
    for (std::size_t i = 1; i + 1 < station_.size(); ++i)
      if (station_[i] - station_[nodes_.back()] >= step && station_.back() - station_[i] >= step * 0.9)
        nodes_.push_back(i);
    nodes_.push_back(station_.size() - 1);
  }

  bool one_part_does(std::size_t first, std::size_t last) const {
    return arc(first, last).good || line(first, last).good;
  }

  CurveChain run() {
    solve();
    std::vector<Alone> parts = trace_back();
    CurveChain chain;
    chain.start = points_.points.front();
    chain.direction = parts.front().from_direction;
    for (const Alone& part : parts)
      chain.parts.push_back({part.straight, std::max(part.length, 1.0), part.straight ? 0 : part.turn, part.first});
    return chain;
  }

 private:
  struct State {
    int count = std::numeric_limits<int>::max();
    double cost = 0;
    std::size_t before = 0;
    int kind_before = 0;
    Alone part;
    bool better_than(const State& o) const { return count != o.count ? count < o.count : cost < o.cost; }
  };

  Moments moments(std::size_t first, std::size_t last) const {
    Moments m;
    double total = 0;
    for (std::size_t i = first; i <= last; ++i) {
      total += points_.weight[i];
      m.centroid += points_.weight[i] * local_[i];
    }
    m.centroid /= total;
    for (std::size_t i = first; i <= last; ++i) {
      const Vec2 d = local_[i] - m.centroid;
      const double w = points_.weight[i] / total, z = d.squaredNorm();
      m.xx += w * d.x() * d.x();
      m.xy += w * d.x() * d.y();
      m.yy += w * d.y() * d.y();
      m.xz += w * d.x() * z;
      m.yz += w * d.y() * z;
      m.zz += w * z * z;
    }
    return m;
  }

  Alone line(std::size_t first, std::size_t last) const {
    const Moments m = moments(first, last);
    Alone a;
    a.first = first;
    a.centre = m.centroid;
    a.along = unit(principal_angle(m.xx, m.xy, m.yy));
    if (a.along.dot(local_[last] - local_[first]) < 0) a.along = -a.along;
    a.from_direction = a.to_direction = angle_of(a.along);
    a.length = (local_[last] - local_[first]).norm();
    judge(a, first, last);
    return a;
  }

  /// Taubin's circle from the moments about the part's own centroid.
  Alone arc(std::size_t first, std::size_t last) const {
    Alone a;
    a.straight = false;
    a.first = first;
    const Moments m = moments(first, last);
    const double cxx = m.xx, cyy = m.yy, cxy = m.xy, cxz = m.xz, cyz = m.yz;
    const double z = cxx + cyy;
    const double det0 = cxx * cyy - cxy * cxy, var = m.zz - z * z;
    const double a3 = 4 * z, a2 = -3 * z * z - m.zz, a1 = var * z + 4 * det0 * z - cxz * cxz - cyz * cyz;
    const double a0 = cxz * (cxz * cyy - cyz * cxy) + cyz * (cyz * cxx - cxz * cxy) - var * det0;
    double root = 0, value = a0;
    for (int i = 0; i < 20; ++i) {
      const double slope = a1 + root * (2 * a2 + 3 * a3 * root);
      if (std::abs(slope) < 1e-30) break;
      const double next = root - value / slope;
      if (!std::isfinite(next) || std::abs(next - root) < 1e-12 * std::max(1.0, z)) break;
      const double next_value = a0 + next * (a1 + next * (a2 + next * a3));
      if (std::abs(next_value) >= std::abs(value)) break;
      root = next;
      value = next_value;
    }
    const double det = root * root - root * z + det0;
    if (std::abs(det) < 1e-9 * std::max(z * z, 1e-12)) return a;
    const Vec2 c((cxz * (cyy - root) - cyz * cxy) / det / 2, (cyz * (cxx - root) - cxz * cxy) / det / 2);
    a.radius = std::sqrt(c.squaredNorm() + z);
    a.centre = c + m.centroid;
    if (!std::isfinite(a.radius) || a.radius > 1e5) return a;
    walk(a, first, last);
    judge(a, first, last);
    return a;
  }

  /// Turn and end tangents of an arc, from the angles of its points about the centre.
  void walk(Alone& a, std::size_t first, std::size_t last) const {
    double turn = 0, angle = angle_of(local_[first] - a.centre);
    const double start = angle;
    const std::size_t step = std::max<std::size_t>(1, (last - first) / 12);
    for (std::size_t i = first; i < last;) {
      i = std::min(i + step, last);
      const double next = angle_of(local_[i] - a.centre);
      turn += wrapped(next - angle);
      angle = next;
    }
    a.turn = turn;
    a.length = a.radius * std::abs(turn);
    const double quarter = turn >= 0 ? std::numbers::pi / 2 : -std::numbers::pi / 2;
    a.from_direction = start + quarter;
    a.to_direction = start + turn + quarter;
  }

  /// Within tolerance all along: the running mean of the clipped distances, less what noise alone does.
  void judge(Alone& a, std::size_t first, std::size_t last) const {
    double sum = 0;
    std::size_t tail = first;
    std::vector<double>& d = scratch_;
    d.resize(last - first + 1);
    for (std::size_t i = first; i <= last; ++i) {
      d[i - first] = std::clamp(a.distance(local_[i]), -options_.clip, options_.clip);
      a.rss += points_.weight[i] * d[i - first] * d[i - first];
    }
    const double reach = std::min(options_.window, 0.5 * (station_[last] - station_[first]));
    std::size_t head = first;
    for (; head <= last; ++head) {
      sum += d[head - first];
      while (station_[head] - station_[tail] > reach) sum -= d[tail++ - first];
      const auto n = static_cast<double>(head - tail + 1);
      const bool whole = station_[head] - station_[first] >= 0.8 * reach;
      if (whole && std::abs(sum / n) > options_.tolerance + 2.5 * options_.noise / std::sqrt(n)) return;
    }
    if (!a.straight && (std::abs(a.turn) > 2.1 * std::numbers::pi || a.radius < 2)) return;
    a.good = true;
  }

  /// The state at node j for a part of each kind (0 line, 1 arc) that ends there.
  void solve() {
    best_.assign(nodes_.size(), {});
    for (std::size_t j = 1; j < nodes_.size(); ++j)
      for (std::size_t i = j; i-- > 0;) {
        const bool only_way = i + 1 == j;
        for (int kind = 0; kind < 2; ++kind) {
          if (kind == 1 && nodes_[j] - nodes_[i] < 3) continue;
          Alone part = kind == 0 ? line(nodes_[i], nodes_[j]) : arc(nodes_[i], nodes_[j]);
          if (!part.good && !only_way) continue;
          if (!part.good && kind == 1) continue;
          extend(i, j, kind, part);
        }
      }
  }

  void extend(std::size_t i, std::size_t j, int kind, const Alone& part) {
    for (int before = 0; before < 2; ++before) {
      State next;
      next.part = part;
      next.before = i;
      next.kind_before = before;
      next.count = part.good ? 1 : 3;  // a part that does not fit is a last resort
      next.cost = part.rss + 1e-3 * kind;
      if (i > 0) {
        const State& from = best_[i][static_cast<std::size_t>(before)];
        if (from.count == std::numeric_limits<int>::max()) continue;
        const double kink = std::abs(wrapped(part.from_direction - from.part.to_direction));
        if (part.good && from.part.good && (kink > options_.largest_kink || (kind == 0 && before == 0))) continue;
        next.count += from.count;
        next.cost += from.cost + kink * kink / (0.05 * 0.05);
      }
      State& now = best_[j][static_cast<std::size_t>(kind)];
      if (next.better_than(now)) now = next;
      if (i == 0) break;
    }
  }

  std::vector<Alone> trace_back() const {
    std::vector<Alone> parts;
    std::size_t j = nodes_.size() - 1;
    int kind = best_[j][0].better_than(best_[j][1]) ? 0 : 1;
    while (j > 0) {
      const State& s = best_[j][static_cast<std::size_t>(kind)];
      parts.push_back(s.part);
      kind = s.kind_before;
      j = s.before;
    }
    std::reverse(parts.begin(), parts.end());
    return parts;
  }

  const WeightedPoints& points_;
  const SplitOptions& options_;
  Polyline local_;
  std::vector<double> station_;
  std::vector<std::size_t> nodes_;
  std::vector<std::array<State, 2>> best_;
  mutable std::vector<double> scratch_;
};

}  // namespace

void check(const SplitOptions& o) {
  // A run whose points are not sure of their place has a tolerance to match: no bound but that it is a number.
  constexpr double any = 1e9;
  check_option("tolerance of parts, mm,", o.tolerance, 1e-6, any);
  check_option("window of parts, mm,", o.window, 0.1, 1000);
  check_option("noise of points, mm,", o.noise, 0, any);
  check_option("clip of distances, mm,", o.clip, 0.01, 1000);
  check_option("largest kink between parts, rad,", o.largest_kink, 0, std::numbers::pi);
  check_option("least length of parts, mm,", o.least_length, 0.1, 1000);
}

CurveChain split_curve(const WeightedPoints& points, const SplitOptions& options) {
  require_at_least("points to split", points.points.size(), 3);
  require_equal("weights of the points", points.weight.size(), points.points.size());
  check(options);
  return Splitter(points, options).run();
}

bool one_arc_does(const WeightedPoints& points, std::size_t first, std::size_t last, const SplitOptions& options) {
  require_equal("weights of the points", points.weight.size(), points.points.size());
  require_index("last point", last, points.points.size());
  require_at_least("last point", last, first + 2);
  check(options);
  return Splitter(points, options).one_part_does(first, last);
}

}  // namespace chalkfold::geometry
