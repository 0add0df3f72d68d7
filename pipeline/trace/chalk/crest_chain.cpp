// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/chalk/crest_chain.h"

#include <algorithm>
#include <cmath>

namespace chalkfold::trace {
namespace {

// fitted: no source but the strokes of the marks found and invented, as chalkfold_marks_accuracy --renders 200 --seed 1000 tells.
constexpr double most_turn = 0.6;  // rad, from one crest point to the next: a stroke's bend at 2 px, and noise; fitted
constexpr double beside_px = 1.6;  // crest points so near a chain are the same line, seen twice: a px and its diagonal
constexpr double own_px = 0.5;     // ahead or behind: farther is the next point of the line
constexpr double drift = 0.30;     // px sideways per px ahead at which a line may run on; fitted
constexpr double drift_least_px = 0.9;                  // px sideways, however near: crest points sit on a pixel grid
constexpr double ahead_px = 0.3;                        // less ahead is the same point of the line
constexpr double memory = 0.7;                          // of the direction so far, against the next step's; fitted
constexpr int near_px = 2;                              // looked at first, and marked as walked
constexpr double sideways_weight = 2, turn_weight = 3;  // px ahead, that a px sideways and a rad of turn cost; fitted

/// One walk over the crest points of a field.
class Walker {
 public:
  Walker(const std::vector<CrestPoint>& points, const cv::Size& size, const CrestChainOptions& options)
      : points_(points), options_(options), index_(size, CV_32SC1, cv::Scalar(-1)), taken_(points.size(), false) {
    for (std::size_t i = 0; i < points.size(); ++i) index_.at<int>(points[i].pixel) = static_cast<int>(i);
  }

  bool taken(std::size_t i) const { return taken_[i]; }

  /// The line through a point, from one end to the other.
  CrestChain line_through(std::size_t seed) {
    take(seed);
    std::vector<std::size_t> back = walk(seed, -points_[seed].along), ahead = walk(seed, points_[seed].along);
    CrestChain chain;
    for (auto i = back.rbegin(); i != back.rend(); ++i) chain.push_back(points_[*i]);
    chain.push_back(points_[seed]);
    for (const std::size_t i : ahead) chain.push_back(points_[i]);
    return chain;
  }

 private:
  std::vector<std::size_t> walk(std::size_t from, Vec2 heading) {
    std::vector<std::size_t> line;
    for (int next = best_ahead(from, heading); next >= 0; next = best_ahead(from, heading)) {
      const CrestPoint& p = points_[static_cast<std::size_t>(next)];
      const Vec2 step = (p.at - points_[from].at).normalized();
      const Vec2 along = p.along.dot(heading) >= 0 ? p.along : Vec2(-p.along);
      heading = (memory * heading + (1 - memory) * (step + along)).normalized();
      from = static_cast<std::size_t>(next);
      take(from);
      line.push_back(from);
    }
    return line;
  }

  int best_ahead(std::size_t from, const Vec2& heading) const {
    const CrestPoint& here = points_[from];
    for (const int reach : {near_px, static_cast<int>(std::ceil(options_.gap_px))}) {
      int best = -1;
      double least = 1e300;
      for (int y = std::max(0, here.pixel.y - reach); y <= std::min(index_.rows - 1, here.pixel.y + reach); ++y) {
        for (int x = std::max(0, here.pixel.x - reach); x <= std::min(index_.cols - 1, here.pixel.x + reach); ++x) {
          const int i = index_.at<int>(y, x);
          if (i < 0 || taken_[static_cast<std::size_t>(i)]) continue;
          const double cost = cost_of(here, points_[static_cast<std::size_t>(i)], heading);
          if (cost < least) {
            least = cost;
            best = i;
          }
        }
      }
      if (best >= 0) return best;
    }
    return -1;
  }

  double cost_of(const CrestPoint& here, const CrestPoint& p, const Vec2& heading) const {
    constexpr double never = 1e300;
    const Vec2 step = p.at - here.at;
    const double ahead = step.dot(heading), sideways = std::abs(step.x() * heading.y() - step.y() * heading.x());
    if (ahead < ahead_px || ahead > options_.gap_px || sideways > std::max(drift_least_px, drift * ahead)) return never;
    const double turn = std::acos(std::min(1.0, std::abs(p.along.dot(heading))));
    if (turn > most_turn) return never;
    return ahead + sideways_weight * sideways + turn_weight * turn;
  }

  void take(std::size_t i) {
    taken_[i] = true;
    const CrestPoint& p = points_[i];
    for (int y = std::max(0, p.pixel.y - near_px); y <= std::min(index_.rows - 1, p.pixel.y + near_px); ++y) {
      for (int x = std::max(0, p.pixel.x - near_px); x <= std::min(index_.cols - 1, p.pixel.x + near_px); ++x) {
        const int j = index_.at<int>(y, x);
        if (j < 0) continue;
        const Vec2 d = points_[static_cast<std::size_t>(j)].at - p.at;
        // Only what lies beside: what lies ahead is still to be walked.
        if (std::abs(d.dot(p.along)) < own_px && d.norm() < beside_px) taken_[static_cast<std::size_t>(j)] = true;
      }
    }
  }

  const std::vector<CrestPoint>& points_;
  const CrestChainOptions& options_;
  cv::Mat index_;
  std::vector<bool> taken_;
};

double run(const CrestChain& chain) {
  double sum = 0;
  for (std::size_t i = 1; i < chain.size(); ++i) sum += (chain[i].at - chain[i - 1].at).norm();
  return sum;
}

}  // namespace

std::vector<CrestChain> chain_crests(const std::vector<CrestPoint>& points, const cv::Size& size,
                                     const CrestChainOptions& options) {
  std::vector<std::size_t> order;
  for (std::size_t i = 0; i < points.size(); ++i) {
    if (points[i].strength >= options.seed) order.push_back(i);
  }
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return points[a].strength > points[b].strength; });
  Walker walker(points, size, options);
  std::vector<CrestChain> chains;
  for (const std::size_t seed : order) {
    if (walker.taken(seed)) continue;
    CrestChain chain = walker.line_through(seed);
    if (run(chain) >= options.least_px) chains.push_back(std::move(chain));
  }
  return chains;
}

}  // namespace chalkfold::trace
