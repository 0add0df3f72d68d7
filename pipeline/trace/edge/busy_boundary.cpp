// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/edge/busy_boundary.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/robust.h"
#include "pipeline/trace/base/table_colours.h"
#include "pipeline/trace/edge/boundary_path.h"
#include "pipeline/trace/edge/coded_colour.h"
#include "pipeline/trace/edge/outline_fit_options.h"

namespace chalkfold::trace {
namespace {

using Colour = Eigen::Vector3f;

// fitted: outline_accuracy.py, seeds 9001, 21001, 31001, 41001
constexpr double search = 8;   // mm either side of the coarse contour, which is good to a few; fitted
constexpr double context = 3;  // mm beyond, which are table; fitted
// mm along the boundary either side: a check's cell of the table's colour is shorter
constexpr double along_reach = 18;
constexpr double step = 0.25;      // mm across it: a pixel or so of a photograph of a table
constexpr double rounding = 1e-9;  // mm: so that the last sample of a line is one

/// Lines across the boundary in coded values.
struct Line {
  std::vector<Colour> coded;
  std::vector<bool> paper;
};

Line read_line(const BoundarySampler& sampler, const Vec2& base, const Vec2& outward) {
  const EdgeProfile p = sampler.profile(base, outward, -search, search + context + rounding, step, 1, 0);
  constexpr double halo = 1.5;  // mm beside paper: its blur, and what the phone's sharpening makes of it
  const auto reach = static_cast<std::ptrdiff_t>(halo / step);
  Line line;
  line.paper.assign(p.linear.size(), false);
  for (std::size_t i = 0; i < p.linear.size(); ++i) {
    line.coded.push_back(coded_of(p.linear[i]));
    if (p.covered.empty() || !p.covered[i]) continue;
    const auto at = line.paper.begin() + static_cast<std::ptrdiff_t>(i);
    std::fill(at - std::min(reach, at - line.paper.begin()), at + std::min(reach, line.paper.end() - at), true);
  }
  return line;
}

struct Table {
  Colour mean = Colour::Zero();
  Eigen::Matrix3f inverse = Eigen::Matrix3f::Identity();
  int seen = 0;
};

/// The table's colours in the outermost columns of neighbouring lines.
Table table_beside(const std::vector<Line>& lines, int row) {
  const int n = static_cast<int>(lines.size()), reach = static_cast<int>(std::lround(along_reach / outline_spacing));
  Table t;
  Eigen::Matrix3f square = Eigen::Matrix3f::Zero();
  for (int d = -reach; d <= reach; d += 2) {
    const Line& line = lines[static_cast<std::size_t>(((row + d) % n + n) % n)];
    for (auto i = static_cast<std::size_t>(2 * search / step); i < line.coded.size(); ++i) {
      if (line.paper[i]) continue;
      t.mean += line.coded[i];
      square += line.coded[i] * line.coded[i].transpose();
      ++t.seen;
    }
  }
  if (t.seen == 0) return t;
  t.mean /= static_cast<float>(t.seen);
  t.inverse = Eigen::Matrix3f(square / static_cast<float>(t.seen) - t.mean * t.mean.transpose() +
                              coded_noise * coded_noise * Eigen::Matrix3f::Identity())
                  .inverse();
  return t;
}

/// mm along the line, of the outermost place that is not table; the innermost when all is.
double outermost(const Line& line, const Table& table) {
  constexpr int together = 3;  // samples: a single one is noise
  int run = 0;
  for (int i = static_cast<int>(line.coded.size()) - 1; i >= 0; --i) {
    const auto k = static_cast<std::size_t>(i);
    const Colour d = line.coded[k] - table.mean;
    run = !line.paper[k] && surely_other(d.dot(table.inverse * d)) ? run + 1 : 0;
    if (run == together) return -search + (i + together - 0.5) * step;
  }
  return -search;
}

Polyline follow_once(const BoundarySampler& sampler, const Polyline& coarse) {
  // more than half of a check is not of the table's colour, and a thread is not three quarters
  constexpr double outermost_share = 0.75;
  constexpr double fewest_lines = 16;                 // of a boundary: less than half a neighbourhood
  constexpr double base_sigma = 4, smooth_sigma = 2;  // mm along, before and after; fitted
  constexpr int normal_reach = 5;                     // points either side; fitted
  const auto count =
      static_cast<std::size_t>(std::max(fewest_lines, std::round(geometry::length(coarse, true) / outline_spacing)));
  const Polyline base = smooth_closed(geometry::resample_closed(coarse, count), base_sigma / outline_spacing);
  const Polyline normals = right_normals(base, normal_reach);
  std::vector<Line> lines;
  for (std::size_t i = 0; i < base.size(); ++i) lines.push_back(read_line(sampler, base[i], normals[i]));
  std::vector<double> off;
  for (std::size_t i = 0; i < base.size(); ++i)
    off.push_back(outermost(lines[i], table_beside(lines, static_cast<int>(i))));
  const int n = static_cast<int>(base.size()), reach = static_cast<int>(std::lround(along_reach / outline_spacing));
  Polyline out;
  for (int i = 0; i < n; ++i) {
    std::vector<double> near;
    for (int d = -reach; d <= reach; ++d) near.push_back(off[static_cast<std::size_t>(((i + d) % n + n) % n)]);
    out.push_back(base[static_cast<std::size_t>(i)] +
                  geometry::quantile(std::move(near), outermost_share) * normals[static_cast<std::size_t>(i)]);
  }
  return smooth_closed(out, smooth_sigma / outline_spacing);
}

}  // namespace

Polyline follow_busy_boundary(const BoundarySampler& sampler, const Polyline& coarse) {
  // Beside paper the coarse contour may be off by more than the search.
  return follow_once(sampler, follow_once(sampler, coarse));
}

}  // namespace chalkfold::trace
