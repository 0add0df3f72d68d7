// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <Eigen/Dense>
#include <algorithm>
#include <opencv2/core.hpp>
#include <optional>
#include <utility>
#include <vector>

#include "pipeline/trace/cuts/edge_strip.h"

namespace chalkfold::trace {

/// How a strip along an edge is laid out and read for notches.
struct NotchStrip {
  /// mm per px: a px of a 12 Mpx photo is 0.2 to 0.4
  static constexpr double resolution = 0.2;
  /// mm on either side of the edge: the table's colour, and past the deepest notch and slit
  static constexpr double outside = 3.2, inside = 13;
  /// mm of depth where the table's colour is read: clear of blur and of most of the contact shadow
  static constexpr double table_from = -3.0, table_to = -1.1;
  /// mm inside the edge, where a notch must already show: past fray and blur
  static constexpr double start_depth = 0.9;
  /// of the way from panel to table: more is open. Half, and a little less, as the contact shadow darkens the table
  static constexpr double open_share = 0.45;
};

/// The table's colour beside a stretch of edge.
struct TableThere {
  Eigen::Vector3d colour;
  Eigen::Matrix3d information;
};

/// How far each pixel of a strip is from panel (0) to table (1), and how well the two can be told at each column. Rows outside the edge are left at 0.
struct OpenMap {
  cv::Mat open;                   // CV_32FC1
  cv::Mat smooth;                 // CV_8UC3, the strip that it was made from
  std::vector<double> contrast;   // by column
  std::vector<TableThere> table;  // by stretch of `step` columns
  int step = 1;
  bool table_like(int y, int x) const;
};

/// Reads panel and table beside the edge, stretch by stretch, and parts them in the direction of colour that tells them best (R. A. Fisher, "The use
/// of multiple measurements in taxonomic problems", 1936). `strip` is at NotchStrip's resolution.
OpenMap open_map(const EdgeStrip& strip);

/// mm that a column is open from the edge inward, however little of its width a slit fills.
double open_extent(const OpenMap& map, const EdgeStrip& strip, int column);

/// Neighbouring columns that are open from the edge inward, and how deep each is.
struct Opening {
  int from = 0, to = 0;       // columns [from, to)
  std::vector<double> depth;  // of each
  double deepest() const { return *std::max_element(depth.begin(), depth.end()); }
  /// Columns' span, px, at a depth: interpolated first and last crossing, relative to `from`.
  std::optional<std::pair<double, double>> span(double level) const {
    double first = 0, last = 0;
    bool seen = false;
    for (std::size_t i = 0; i < depth.size(); ++i) {
      if (depth[i] < level) continue;
      const double before = i > 0 ? depth[i - 1] : 0, after = i + 1 < depth.size() ? depth[i + 1] : 0;
      if (!seen) first = static_cast<double>(i) - (depth[i] > before ? (depth[i] - level) / (depth[i] - before) : 0);
      seen = true;
      last = static_cast<double>(i) + (depth[i] > after ? std::min(1.0, (depth[i] - level) / (depth[i] - after)) : 0);
    }
    if (!seen) return std::nullopt;
    return std::pair{first, last};
  }
};

/// Every opening of a strip, in order along it.
std::vector<Opening> openings_in(const OpenMap& map, const EdgeStrip& strip);

}  // namespace chalkfold::trace
