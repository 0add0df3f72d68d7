// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/cuts/edge_strip.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "pipeline/geometry/robust.h"
#include "pipeline/trace/chalk/corner_places.h"

namespace chalkfold::trace {
namespace {

// fitted: no source but the notches found and invented, as chalkfold_marks_accuracy --renders 200 --seed 1000 tells.
constexpr double base_spacing = 2;     // mm: a base bends over no less than its window
constexpr double window = 16;          // mm either side of the local quadratic: past both sides of the widest notch
constexpr double least_length = 24;    // mm; shorter edges have no room for a notch and its margins
constexpr int robust_rounds = 5;       // each with the weights that the last one gives
constexpr double least_spread = 0.08;  // mm, the outline's own: below, nothing is an outlier
constexpr double tukey = 4.0;          // spreads beyond which a point has no weight; 4.685 is 95 % efficient (J. Tukey)
constexpr double fade = 5;             // the window's ends weigh 1 - 1 / fade of its middle
constexpr int map_step = 8;            // px between exact projections: a lens bends by far less over them

/// A point of the base and its direction of travel.
struct Smooth {
  Vec2 at, along;
};

/// Robust quadratic through samples[first..last], about samples[i], in the frame of their chord.
Smooth local_quadratic(const Polyline& samples, std::size_t first, std::size_t last, std::size_t i) {
  const Vec2& origin = samples[i];
  const Vec2 u = (samples[last] - samples[first]).normalized(), v(-u.y(), u.x());
  const double half = std::max(1e-6, (samples[last] - samples[first]).norm() / 2);
  Vec3 q = Vec3::Zero();
  double spread = 1e6;
  std::vector<double> off;
  for (int round = 0; round < robust_rounds; ++round) {
    Mat3 normal = 1e-9 * Mat3::Identity();
    Vec3 right = Vec3::Zero();
    for (std::size_t k = first; k <= last; ++k) {
      const double x = (samples[k] - origin).dot(u), y = (samples[k] - origin).dot(v), t = x / half;
      const double residual = (y - q.dot(Vec3(1, x, x * x))) / (tukey * spread);
      const double distance = std::max(0.0, 1 - t * t / fade),
                   robust = std::abs(residual) < 1 ? (1 - residual * residual) * (1 - residual * residual) : 0;
      const Vec3 b(1, x, x * x);
      normal += distance * robust * b * b.transpose();
      right += distance * robust * y * b;
    }
    q = normal.ldlt().solve(right);
    off.clear();
    for (std::size_t k = first; k <= last; ++k) {
      const double x = (samples[k] - origin).dot(u), y = (samples[k] - origin).dot(v);
      off.push_back(std::abs(y - q.dot(Vec3(1, x, x * x))));
    }
    spread = std::max(least_spread, geometry::sigma_from_median_size * geometry::value_of_rank(off, off.size() / 2));
  }
  return {origin + q[0] * v, (u + q[1] * v).normalized()};
}

/// `from` to `to` mm along the outline; `closed` when the edge is the whole outline.
EdgeBase smooth_edge(const geometry::ClosedOutline& outline, double from, double to, bool closed) {
  EdgeBase base;
  base.closed = closed;
  const double length = to - from;
  const auto count = static_cast<std::size_t>(std::max(2.0, std::round(length / base_spacing))) + 1;
  base.spacing = length / static_cast<double>(count - 1);
  const auto reach = static_cast<std::size_t>(std::lround(window / base.spacing));
  const std::size_t wrap = closed ? reach : 0;
  Polyline samples;
  for (std::size_t i = 0; i < count + 2 * wrap; ++i) {
    samples.push_back(outline.at(from + base.spacing * (static_cast<double>(i) - static_cast<double>(wrap))).point);
  }
  for (std::size_t i = wrap; i < count + wrap; ++i) {
    const Smooth s = local_quadratic(samples, i < reach ? 0 : i - reach, std::min(samples.size() - 1, i + reach), i);
    base.points.push_back(s.at);
    base.inward.emplace_back(-s.along.y(), s.along.x());
    base.along.push_back(from + base.spacing * static_cast<double>(i - wrap));
  }
  return base;
}

}  // namespace

std::vector<EdgeBase> edge_bases(const geometry::ClosedOutline& outline) {
  std::vector<double> cuts = corner_places(outline);
  std::sort(cuts.begin(), cuts.end());
  std::vector<EdgeBase> bases;
  if (cuts.empty()) {
    bases.push_back(smooth_edge(outline, 0, outline.length(), true));
    return bases;
  }
  for (std::size_t i = 0; i < cuts.size(); ++i) {
    const double to = i + 1 < cuts.size() ? cuts[i + 1] : cuts.front() + outline.length();
    if (to - cuts[i] >= least_length) bases.push_back(smooth_edge(outline, cuts[i], to, false));
  }
  return bases;
}

Vec2 EdgeStrip::table_from_strip(double column, double row) const {
  const double at = std::clamp(along_of(column) / base->spacing, 0.0, static_cast<double>(base->points.size() - 1));
  const auto i = std::min(static_cast<std::size_t>(at), base->points.size() - 2);
  const double t = at - static_cast<double>(i);
  const Vec2 inward = ((1 - t) * base->inward[i] + t * base->inward[i + 1]).normalized();
  return (1 - t) * base->points[i] + t * base->points[i + 1] + depth_of(row) * inward;
}

EdgeStrip edge_strip(const cv::Mat& photo_bgr, const survey::TableView& view, const EdgeBase& base, double height,
                     double first_depth, double last_depth, double mm_per_px) {
  EdgeStrip strip;
  strip.mm_per_px = mm_per_px;
  strip.first_depth = first_depth;
  strip.base = &base;
  const int width = static_cast<int>(static_cast<double>(base.points.size() - 1) * base.spacing / mm_per_px) + 1;
  const int rows = static_cast<int>(std::lround((last_depth - first_depth) / mm_per_px)) + 1;
  const int node_columns = (width - 1) / map_step + 2, node_rows = (rows - 1) / map_step + 2;
  cv::Mat nodes(node_rows, node_columns, CV_32FC2);
  for (int r = 0; r < node_rows; ++r) {
    for (int c = 0; c < node_columns; ++c) {
      const Vec2 p = view.photo_from_table(strip.table_from_strip(c * map_step, r * map_step), height);
      nodes.at<cv::Vec2f>(r, c) = cv::Vec2f(static_cast<float>(p.x()), static_cast<float>(p.y()));
    }
  }
  cv::Mat map(rows, width, CV_32FC2);
  for (int y = 0; y < rows; ++y) {
    const float v = static_cast<float>(y % map_step) / map_step;
    const auto *above = nodes.ptr<cv::Vec2f>(y / map_step), *below = nodes.ptr<cv::Vec2f>(y / map_step + 1);
    auto* out = map.ptr<cv::Vec2f>(y);
    for (int x = 0; x < width; ++x) {
      const int c = x / map_step;
      const float u = static_cast<float>(x % map_step) / map_step;
      out[x] = (1 - v) * ((1 - u) * above[c] + u * above[c + 1]) + v * ((1 - u) * below[c] + u * below[c + 1]);
    }
  }
  cv::remap(photo_bgr, strip.bgr, map, cv::noArray(), cv::INTER_LINEAR, cv::BORDER_REPLICATE);
  return strip;
}

}  // namespace chalkfold::trace
