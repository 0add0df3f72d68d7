// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/reflection.h"

#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "pipeline/common/require.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/robust.h"
#include "pipeline/geometry/segment.h"
#include "pipeline/geometry/vectors.h"

namespace chalkfold::geometry {
namespace {

struct Foot {
  /// signed, right of the outline's way of travel positive
  double distance = 0;
  Vec2 normal = Vec2::UnitX();
};

Foot foot_on(const Polyline& closed, const Vec2& p) {
  double best = 1e300;
  Foot foot;
  for (std::size_t i = 0; i < closed.size(); ++i) {
    const Vec2 &a = closed[i], &b = closed[(i + 1) % closed.size()];
    const Vec2 off = nearest_on_segment(p, a, b).offset;
    if (off.squaredNorm() >= best || a == b) continue;
    best = off.squaredNorm();
    const Vec2 normal = -left_of(b - a) / (b - a).norm();
    foot = {off.dot(normal) >= 0 ? off.norm() : -off.norm(), normal};
  }
  return foot;
}

double spread_of(std::vector<double> v) {
  for (double& x : v) x = std::abs(x);
  return robust_sigma(std::move(v));
}

MirrorAxis upright(MirrorAxis axis, const Vec2& centre) {
  if (axis.direction.y() < -1e-12 || (std::abs(axis.direction.y()) <= 1e-12 && axis.direction.x() < 0))
    axis.direction = -axis.direction;
  axis.point += axis.direction.dot(centre - axis.point) * axis.direction;
  return axis;
}

/// One weighted step over offset (to the axis's left) and angle about `point`; returns the size of the step.
class AxisFit {
 public:
  AxisFit(const Polyline& outline, const std::optional<KnownAxis>& known, double alike)
      : outline_(resample_closed(outline, 250)),
        known_(known),
        observations_(std::max(4.0, length(outline, true) / alike)) {}

  double step(MirrorAxis& axis) const {
    std::vector<double> residual;
    std::vector<Vec2> slope;
    const Vec2 side = left_of(axis.direction);
    for (const Vec2& p : outline_) {
      const Vec2 image = axis.image(p);
      const Foot foot = foot_on(outline_, image);
      residual.push_back(foot.distance);
      // Offset d moves an image by 2 d side; angle t turns it by 2 t about the point.
      slope.emplace_back(2 * foot.normal.dot(side), 2 * foot.normal.dot(left_of(image - axis.point)));
    }
    const double spread = std::max(spread_of(residual), 0.01), limit = 4.685 * std::max(spread, 0.3);
    Mat2 normal = Mat2::Zero();
    Vec2 right = Vec2::Zero();
    double squares = 0;
    for (std::size_t i = 0; i < residual.size(); ++i) {
      squares += std::pow(std::min(std::abs(residual[i]), 10.0), 2);  // mm; a torn-off corner is no reason for more
      const double q = residual[i] / limit;
      if (std::abs(q) >= 1) continue;
      const double w = (1 - q * q) * (1 - q * q);
      normal += w * slope[i] * slope[i].transpose();
      right -= w * residual[i] * slope[i];
    }
    axis.rms = std::sqrt(squares / static_cast<double>(residual.size()));
    // All samples together weigh as much as the independent stretches of outline do.
    const double weight = observations_ / static_cast<double>(residual.size()) / (spread * spread);
    normal *= weight;
    right *= weight;
    if (known_) {
      // The outline may have been stretched on one side: its covariance grows, its own solution stays.
      const Vec2 own = (normal + 1e-12 * Mat2::Identity()).inverse() * right;
      Mat2 wear = Mat2::Zero();
      wear(0, 0) = std::pow(known_->wear * half_width(axis), 2);
      wear(1, 1) =
          wear(0, 0) /
          std::pow(4 * half_length(axis),
                   2);  // a half mostly stretches as a whole: its turn is a quarter of what one end alone would give
      normal = ((normal + 1e-12 * Mat2::Identity()).inverse() + wear).inverse();
      right = normal * own;
      add_known(axis, normal, right);
    }
    normal += 1e-12 * Mat2::Identity();
    const Mat2 covariance = normal.inverse();
    const Vec2 move = covariance * right;
    axis.sigma = std::sqrt(covariance(0, 0));
    axis.sigma_angle = std::sqrt(covariance(1, 1));
    axis.point += move[0] * side;
    axis.direction = (axis.direction + move[1] * side).normalized();
    return std::abs(move[0]) + 100 * std::abs(move[1]);
  }

 private:
  double half_width(const MirrorAxis& axis) const { return half_extent(left_of(axis.direction)); }
  double half_length(const MirrorAxis& axis) const { return half_extent(axis.direction); }
  double half_extent(const Vec2& along) const {
    const auto [low, high] = std::minmax_element(
        outline_.begin(), outline_.end(), [&](const Vec2& a, const Vec2& b) { return along.dot(a) < along.dot(b); });
    return 0.5 * along.dot(*high - *low);
  }

  void add_known(const MirrorAxis& axis, Mat2& normal, Vec2& right) const {
    const Vec2 side = left_of(axis.direction);
    const Vec2 known = known_->direction.dot(axis.direction) < 0 ? Vec2(-known_->direction) : known_->direction;
    const double off = side.dot(known_->middle - axis.point), arm = axis.direction.dot(known_->middle - axis.point);
    const double turn = side.dot(known);
    const Vec2 offset_slope(1, arm), angle_slope(0, 1);
    const double wo = 1 / (known_->sigma * known_->sigma), wa = 1 / (known_->sigma_angle * known_->sigma_angle);
    normal += wo * offset_slope * offset_slope.transpose() + wa * angle_slope * angle_slope.transpose();
    right += wo * off * offset_slope + wa * turn * angle_slope;
  }

  Polyline outline_;
  std::optional<KnownAxis> known_;
  double observations_;
};

}  // namespace

MirrorAxis fit_mirror_axis(const Polyline& outline, const Vec2& point, const Vec2& direction,
                           const std::optional<KnownAxis>& known, double alike) {
  require_at_least("points of the outline", outline.size(), 8);
  require_above("length of the direction", direction.norm(), 0);
  require_above("outline of one observation, mm,", alike, 0);
  MirrorAxis axis;
  axis.point = point;
  axis.direction = direction.normalized();
  const Vec2 centre = centroid(outline);
  axis = upright(axis, centre);
  const AxisFit fit(outline, known, alike);
  for (int i = 0; i < 30; ++i)
    if (fit.step(axis) < 1e-5) break;
  return upright(axis, centre);
}

std::vector<MirrorAxis> mirror_axes(const Polyline& outline, std::size_t most) {
  require_at_least("points of the outline", outline.size(), 8);
  const Polyline coarse = resample_closed(outline, 120);
  const Vec2 centre = centroid(outline);
  constexpr int count = 60;
  std::vector<double> rms(count);
  const auto direction = [](int i) {
    return Vec2(std::cos(i * std::numbers::pi / count), std::sin(i * std::numbers::pi / count));
  };
  for (int i = 0; i < count; ++i) {
    MirrorAxis axis;
    axis.point = centre;
    axis.direction = direction(i);
    double squares = 0;
    for (std::size_t k = 0; k < coarse.size(); k += 2) {
      const double d = foot_on(coarse, axis.image(coarse[k])).distance;
      squares += d * d;
    }
    rms[static_cast<std::size_t>(i)] = squares;
  }
  std::vector<int> lows;
  for (int i = 0; i < count; ++i) {
    const auto at = [&](int k) { return rms[static_cast<std::size_t>((k + count) % count)]; };
    if (at(i) <= at(i - 1) && at(i) < at(i + 1)) lows.push_back(i);
  }
  if (lows.empty()) lows.push_back(0);  // a circle: every axis is as good
  std::sort(lows.begin(), lows.end(),
            [&](int a, int b) { return rms[static_cast<std::size_t>(a)] < rms[static_cast<std::size_t>(b)]; });
  lows.resize(std::min(lows.size(), most));
  std::vector<MirrorAxis> axes;
  axes.reserve(lows.size());
  for (const int i : lows) axes.push_back(fit_mirror_axis(outline, centre, direction(i), std::nullopt));
  std::stable_sort(axes.begin(), axes.end(), [](const MirrorAxis& a, const MirrorAxis& b) { return a.rms < b.rms; });
  return axes;
}

}  // namespace chalkfold::geometry
