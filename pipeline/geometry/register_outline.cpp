// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/register_outline.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>

#include "pipeline/geometry/median.h"

namespace chalkfold {
namespace {

constexpr std::size_t starts = 240;    // places round the outline: 1.5 degrees of a circle
constexpr std::size_t per_start = 4;   // target points between two of them
constexpr std::size_t window = 40;     // target points either side of the last nearest one that are searched
constexpr double tukey = 4.685;        // standard deviations beyond which a point counts for nothing
constexpr double least_spread = 0.02;  // mm
constexpr double same_turn = 0.05;     // rad: nearer minima are one

struct Start {
  Rigid2 motion;
  std::size_t shift = 0;
  double square = 0;
};

/// Pairs equal shares of the way round, from every starting point; the minima over the starting point, best first.
std::vector<Start> start_motions(const Polyline& source, const Polyline& target) {
  std::vector<Start> all(starts);
  Polyline turned(starts);
  for (std::size_t s = 0; s < starts; ++s) {
    for (std::size_t i = 0; i < starts; ++i) turned[i] = target[per_start * ((i + s) % starts)];
    all[s] = {fit_rigid(source, turned), s, 0};
    for (std::size_t i = 0; i < starts; ++i) all[s].square += (all[s].motion * source[i] - turned[i]).squaredNorm();
  }
  std::vector<Start> minima;
  for (std::size_t s = 0; s < starts; ++s) {
    const double before = all[(s + starts - 1) % starts].square, after = all[(s + 1) % starts].square;
    if (all[s].square <= before && all[s].square < after) minima.push_back(all[s]);
  }
  if (minima.empty()) minima.push_back(all.front());  // a circle
  std::stable_sort(minima.begin(), minima.end(), [](const Start& a, const Start& b) { return a.square < b.square; });
  return minima;
}

/// Signed distance of a point from the target's line near `at`, its normal there, and the place moved along.
double off_line(const Polyline& target, const Vec2& p, std::size_t& at, Vec2& normal) {
  const std::size_t n = target.size();
  double best = 1e300;
  std::size_t nearest = at;
  for (std::size_t d = 0; d <= 2 * window; ++d) {
    const std::size_t i = (at + n + d - window) % n;
    const double square = (target[i] - p).squaredNorm();
    if (square < best) {
      best = square;
      nearest = i;
    }
  }
  at = nearest;
  const Vec2 along = (target[(at + 1) % n] - target[(at + n - 1) % n]).normalized();
  normal = Vec2(along.y(), -along.x());
  // Which of the two segments that meet here is nearer makes a difference at corners only, and there the weights are small.
  return normal.dot(p - target[at]);
}

OutlineMatch refined(const Start& start, const Polyline& source, const Polyline& target) {
  OutlineMatch match{start.motion, 0};
  std::vector<std::size_t> at(source.size());
  for (std::size_t i = 0; i < source.size(); ++i) at[i] = per_start * ((i + start.shift) % starts);
  constexpr int rounds = 30;
  for (int round = 0; round < rounds; ++round) {
    std::vector<double> off(source.size()), size(source.size());
    std::vector<Vec2> moved(source.size()), normal(source.size());
    Vec2 middle = Vec2::Zero();
    for (std::size_t i = 0; i < source.size(); ++i) {
      moved[i] = match.target_from_source * source[i];
      off[i] = off_line(target, moved[i], at[i], normal[i]);
      size[i] = std::abs(off[i]);
      middle += moved[i] / static_cast<double>(source.size());
    }
    const double cut = tukey * std::max(least_spread, 1.4826 * median(size));
    Mat3 normal_matrix = Mat3::Zero();
    Vec3 right = Vec3::Zero();
    double sum = 0, weights = 0;
    for (std::size_t i = 0; i < source.size(); ++i) {
      const double u = off[i] / cut, w = std::abs(u) < 1 ? std::pow(1 - u * u, 2) : 0;
      const Vec2 arm = moved[i] - middle;
      const Vec3 row(normal[i].x(), normal[i].y(), normal[i].y() * arm.x() - normal[i].x() * arm.y());
      normal_matrix += w * row * row.transpose();
      right -= w * off[i] * row;
      sum += w * off[i] * off[i];
      weights += w;
    }
    match.rms = weights > 0 ? std::sqrt(sum / weights) : cut;
    const Vec3 step = normal_matrix.ldlt().solve(right);
    if (!step.allFinite()) break;  // a circle may turn as it likes
    const Rigid2 turn{step.z(), Vec2::Zero()};
    match.target_from_source =
        Rigid2{0, middle + step.head<2>()} * turn * Rigid2{0, -middle} * match.target_from_source;
    if (step.head<2>().norm() < 1e-9 && std::abs(step.z()) < 1e-12) break;
  }
  return match;
}

}  // namespace

std::vector<OutlineMatch> lay_outline_on(const Polyline& source, const Polyline& target, std::size_t most) {
  if (source.size() < 8 || target.size() < 8) throw std::logic_error("lay_outline_on: fewer than 8 points");
  const Polyline coarse = resample_closed(source, starts), fine = resample_closed(target, starts * per_start);
  std::vector<OutlineMatch> matches;
  for (const Start& start : start_motions(coarse, fine)) {
    if (matches.size() >= 2 * most) break;
    const OutlineMatch match = refined(start, coarse, fine);
    const bool known = std::any_of(matches.begin(), matches.end(), [&](const OutlineMatch& m) {
      return std::abs(std::remainder(m.target_from_source.angle - match.target_from_source.angle,
                                     2 * std::numbers::pi)) < same_turn;
    });
    if (!known) matches.push_back(match);
  }
  std::stable_sort(matches.begin(), matches.end(),
                   [](const OutlineMatch& a, const OutlineMatch& b) { return a.rms < b.rms; });
  if (matches.size() > most) matches.resize(most);
  return matches;
}

}  // namespace chalkfold
