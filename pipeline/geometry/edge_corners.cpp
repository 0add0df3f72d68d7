// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/edge_corners.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "pipeline/common/check_option.h"
#include "pipeline/common/require.h"
#include "pipeline/geometry/curve_fit.h"
#include "pipeline/geometry/line_fit.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/vectors.h"

namespace chalkfold::geometry {
namespace {

/// mm off the straight fits; below it no point is an outlier
constexpr double least_outlier = 0.05;

struct Turn {
  double angle = 0;
  Vec2 crossing = Vec2::Zero();
  /// unit, the bisector towards the outline
  Vec2 inward = Vec2::Zero();
};

class Finder {
 public:
  Finder(const Polyline& outline, const EdgeCornerOptions& options) : options_(options) {
    const double round = length(outline, true);
    count_ = std::max<std::size_t>(8, static_cast<std::size_t>(std::lround(round)));
    step_ = round / static_cast<double>(count_);
    points_ = resample_closed(outline, count_);
    noise_ = noise_of(outline);
  }

  std::vector<OutlineCorner> run() const {
    std::vector<OutlineCorner> corners;
    if (static_cast<double>(count_) * step_ < 4 * options_.arm) return corners;
    std::vector<Turn> turns(count_);
    for (std::size_t i = 0; i < count_; ++i) turns[i] = turn_at(i);
    std::vector<std::size_t> unsharp;
    for (std::size_t i = 0; i < count_; ++i) {
      if (!peaks(turns, i)) continue;
      if (sharp(turns[i], i))
        corners.push_back({station_of(turns[i], i), turns[i].crossing, turns[i].angle});
      else if (std::abs(turns[i].angle) > 1)
        unsharp.push_back(i);
    }
    if (!unsharp.empty()) look_again(unsharp, corners);
    std::sort(corners.begin(), corners.end(), [](const auto& a, const auto& b) { return a.along < b.along; });
    return spaced(corners);
  }

 private:
  const Vec2& at(std::ptrdiff_t i) const {
    const auto n = static_cast<std::ptrdiff_t>(count_);
    return points_[static_cast<std::size_t>(((i % n) + n) % n)];
  }

  Turn turn_at(std::size_t i) const {
    Polyline before, after;
    const auto middle = static_cast<std::ptrdiff_t>(i);
    const auto near = static_cast<std::ptrdiff_t>(std::lround(options_.gap / step_)),
               far = static_cast<std::ptrdiff_t>(std::lround(options_.arm / step_));
    for (std::ptrdiff_t k = -far; k <= -near; ++k) before.push_back(at(middle + k));
    for (std::ptrdiff_t k = near; k <= far; ++k) after.push_back(at(middle + k));
    const FittedLine a = fit_line_robustly(before, least_outlier), b = fit_line_robustly(after, least_outlier);
    const double c = cross(a.direction, b.direction);
    Turn turn{std::atan2(c, a.direction.dot(b.direction)), at(middle), Vec2::Zero()};
    turn.inward = (b.direction - a.direction).normalized();
    if (std::abs(c) > 0.1) turn.crossing = a.middle + cross(b.middle - a.middle, b.direction) / c * a.direction;
    return turn;
  }

  bool peaks(const std::vector<Turn>& turns, std::size_t i) const {
    const double here = std::abs(turns[i].angle);
    if (here < options_.least_turn) return false;
    const auto reach = static_cast<std::size_t>(std::lround(options_.apart / step_));
    for (std::size_t k = 1; k <= reach; ++k) {
      const Turn &next = turns[(i + k) % count_], &last = turns[(i + count_ - k) % count_];
      if (next.angle * turns[i].angle > 0 && std::abs(next.angle) > here) return false;
      if (last.angle * turns[i].angle > 0 && std::abs(last.angle) >= here) return false;
    }
    return true;
  }

  /// How far the outline's tip stays behind the crossing, against what a rounding would.
  bool sharp(const Turn& turn, std::size_t i) const {
    const auto middle = static_cast<std::ptrdiff_t>(i) + nearest_step(turn, i),
               reach = static_cast<std::ptrdiff_t>(std::lround(options_.gap / step_));
    Vec2 mean = Vec2::Zero();
    double spread = 0;
    for (std::ptrdiff_t k = -reach; k <= reach; ++k) {
      mean += at(middle + k);
      spread += step_ * static_cast<double>(std::abs(k));
    }
    const double count = 2 * static_cast<double>(reach) + 1, half = 0.5 * std::min(std::abs(turn.angle), 2.6);
    const double behind = turn.inward.dot(mean / count - turn.crossing) - spread / count * std::sin(half);
    // The crossing of two fits to ten noisy points each lies off by some 0.6 of their noise: what may be a rounding is no corner.
    return behind + noise_ <= options_.largest_radius * (1 / std::cos(half) - 1);
  }

  /// Shorter fits around the peaks that were no corners.
  void look_again(const std::vector<std::size_t>& peaks_seen, std::vector<OutlineCorner>& corners) const {
    Finder near = *this;
    near.options_.arm = options_.short_arm;
    near.options_.gap = 0.5 * options_.gap;
    near.options_.least_turn = std::max(0.8, options_.least_turn);
    near.options_.largest_radius = 0.6 * options_.largest_radius;
    near.options_.apart = options_.short_arm;
    const auto reach = static_cast<std::size_t>(std::lround(1.5 * options_.arm / step_));
    std::vector<Turn> turns(count_);
    std::vector<bool> looked(count_, false);
    for (const std::size_t i : peaks_seen)
      for (std::size_t k = 0; k <= 2 * reach; ++k) looked[(i + count_ + k - reach) % count_] = true;
    for (std::size_t i = 0; i < count_; ++i)
      if (looked[i]) turns[i] = near.turn_at(i);
    for (std::size_t i = 0; i < count_; ++i)
      if (looked[i] && near.peaks(turns, i) && near.sharp(turns[i], i)) {
        const OutlineCorner corner{near.station_of(turns[i], i), turns[i].crossing, turns[i].angle};
        const bool known = std::any_of(corners.begin(), corners.end(), [&](const OutlineCorner& c) {
          return (c.point - corner.point).norm() < options_.apart;
        });
        if (!known) corners.push_back(corner);
      }
  }

  /// Where the outline is nearest to the crossing: within the gap the turn is the same everywhere.
  std::ptrdiff_t nearest_step(const Turn& turn, std::size_t i) const {
    const auto reach = static_cast<std::ptrdiff_t>(std::lround(2 * options_.gap / step_));
    const auto middle = static_cast<std::ptrdiff_t>(i);
    std::ptrdiff_t best = 0;
    for (std::ptrdiff_t k = -reach; k <= reach; ++k)
      if ((at(middle + k) - turn.crossing).norm() < (at(middle + best) - turn.crossing).norm()) best = k;
    return best;
  }

  double station_of(const Turn& turn, std::size_t i) const {
    const auto n = static_cast<std::ptrdiff_t>(count_);
    return static_cast<double>((static_cast<std::ptrdiff_t>(i) + nearest_step(turn, i) + n) % n) * step_;
  }

  std::vector<OutlineCorner> spaced(std::vector<OutlineCorner> corners) const {
    const double round = static_cast<double>(count_) * step_;
    for (bool crowded = true; crowded && corners.size() > 1;) {
      crowded = false;
      for (std::size_t i = 0; i < corners.size() && !crowded; ++i) {
        const std::size_t j = (i + 1) % corners.size();
        const double away = std::fmod(corners[j].along - corners[i].along + round, round);
        if (away >= options_.apart) continue;
        corners.erase(corners.begin() +
                      static_cast<std::ptrdiff_t>(std::abs(corners[i].turn) < std::abs(corners[j].turn) ? i : j));
        crowded = true;
      }
    }
    return corners;
  }

  EdgeCornerOptions options_;
  std::size_t count_ = 0;
  double step_ = 1, noise_ = 0;
  Polyline points_;
};

}  // namespace

void check(const EdgeCornerOptions& o) {
  constexpr double least_fit = 2;  // mm: a straight line through less tells no direction
  check_option("gap beside corners, mm,", o.gap, 0, 50);
  check_option("arm of corners, mm,", o.arm, o.gap + least_fit, 200);
  check_option("least turn of corners, rad,", o.least_turn, 0.01, std::numbers::pi);
  check_option("largest radius of corners, mm,", o.largest_radius, 0, 100);
  check_option("short arm of corners, mm,", o.short_arm, 0.5 * o.gap + least_fit, 200);
  check_option("distance of corners, mm,", o.apart, 0, 200);
}

std::vector<OutlineCorner> find_edge_corners(const Polyline& outline, const EdgeCornerOptions& options) {
  require_at_least("points of the outline", outline.size(), 3);
  check(options);
  return Finder(outline, options).run();
}

}  // namespace chalkfold::geometry
