// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/find/eye_panels.h"

#include <algorithm>
#include <opencv2/imgproc.hpp>

#include "pipeline/trace/find/panel_shape.h"
#include "pipeline/trace/find/table_masks.h"

namespace chalkfold::trace {
namespace {

constexpr double panel_least = 0.5;  // probability: likelier panel than anything else together
// Chosen on twelve made-up tables of the training's kind.
constexpr double core_edge_most = 0.25;  // probability of edge inside a core
constexpr double join_below = 0.15;      // mean probability of edge between two cores that are one panel
constexpr double core_opening = 6;       // mm: a weak spot in an edge that is narrower joins no two cores
constexpr double core_share = 0.2;       // of the least area: the edge takes its part of a small panel
constexpr double smoothing_px = 0.8;     // of the edge map: single pixels

/// Numbers connected parts of a mask from 1, those of at least so many pixels.
cv::Mat numbered(const cv::Mat& mask, double least) {
  cv::Mat labels, stats, centroids;
  const int count = cv::connectedComponentsWithStats(mask, labels, stats, centroids, 4);
  for (int i = 1; i < count; ++i)
    if (stats.at<int>(i, cv::CC_STAT_AREA) < least) labels.setTo(0, labels == i);
  return labels;
}

/// Gives every pixel of panel to a core, the least sure edge first: two cores meet on the ridge of the edge between them.
cv::Mat grown_back(const cv::Mat& cores, const cv::Mat& panel, const cv::Mat& edge) {
  cv::Mat hills, marks = cores.clone();
  edge.convertTo(hills, CV_8U, 255);
  cv::cvtColor(hills, hills, cv::COLOR_GRAY2BGR);
  cv::watershed(hills, marks);
  // the ridges go to whichever core lies beside them
  cv::Mat flat = cv::max(marks, 0), spread;
  flat.convertTo(flat, CV_16U);
  cv::dilate(flat, spread, cv::Mat::ones(3, 3, CV_8U));
  spread.copyTo(flat, marks < 0);
  flat.setTo(0, ~panel);
  // panel that no core reaches through panel is nobody's
  cv::Mat parts;
  const int count = cv::connectedComponents(panel, parts, 4);
  std::vector<bool> own(static_cast<std::size_t>(count), false);
  for (int y = 0; y < parts.rows; ++y)
    for (int x = 0; x < parts.cols; ++x)
      if (cores.at<int>(y, x) > 0) own[static_cast<std::size_t>(parts.at<int>(y, x))] = true;
  for (int y = 0; y < parts.rows; ++y)
    for (int x = 0; x < parts.cols; ++x)
      if (!own[static_cast<std::size_t>(parts.at<int>(y, x))]) flat.at<unsigned short>(y, x) = 0;
  return flat;
}

/// Masks of the cores, those with hardly an edge between them as one.
std::vector<cv::Mat> joined(const cv::Mat& labels, const cv::Mat& edge) {
  constexpr int shortest = 3;  // px of a common border
  std::vector<cv::Mat> masks, wide;
  double top = 0;
  cv::minMaxLoc(labels, nullptr, &top);
  for (int i = 1; i <= static_cast<int>(top); ++i) {
    const cv::Mat mask = labels == i;
    if (cv::countNonZero(mask) == 0) continue;
    masks.push_back(mask);
    wide.emplace_back();
    cv::dilate(mask, wide.back(), cv::Mat::ones(3, 3, CV_8U));
  }
  std::vector<std::size_t> root(masks.size());
  for (std::size_t i = 0; i < root.size(); ++i) root[i] = i;
  const auto root_of = [&](std::size_t i) {
    while (root[i] != i) i = root[i];
    return i;
  };
  for (std::size_t i = 0; i < masks.size(); ++i)
    for (std::size_t k = i + 1; k < masks.size(); ++k) {
      const cv::Mat border = wide[i] & wide[k];
      if (cv::countNonZero(border) >= shortest && cv::mean(edge, border)[0] < join_below) root[root_of(k)] = root_of(i);
    }
  for (std::size_t i = masks.size(); i-- > 0;) {
    if (root_of(i) == i) continue;
    masks[root_of(i)] |= masks[i];
    masks[i].release();
  }
  std::erase_if(masks, [](const cv::Mat& m) { return m.empty(); });
  return masks;
}

/// The largest part of a mask, opened against threads, with holes filled that are narrower than a cut-out.
cv::Mat tidied(const cv::Mat& mask, double mm_per_px, const TraceOptions& options) {
  constexpr double thread = 5;  // mm: narrower is no panel
  cv::Mat open, stats, centroids;
  cv::morphologyEx(mask, open, cv::MORPH_OPEN, disc(thread / mm_per_px));
  cv::Mat out = largest_part(open);
  cv::Mat holes;
  const int hole_count = cv::connectedComponentsWithStats(~out, holes, stats, centroids, 4);
  for (int i = 1; i < hole_count; ++i) {
    const cv::Rect box(stats.at<int>(i, cv::CC_STAT_LEFT), stats.at<int>(i, cv::CC_STAT_TOP),
                       stats.at<int>(i, cv::CC_STAT_WIDTH), stats.at<int>(i, cv::CC_STAT_HEIGHT));
    const bool open_to_border = box.x == 0 || box.y == 0 || box.br().x == out.cols || box.br().y == out.rows;
    const cv::Mat hole = holes(box) == i;
    if (!open_to_border && widest_px(hole) * mm_per_px < options.min_cutout_width) out(box).setTo(255, hole);
  }
  return out;
}

}  // namespace

double edge_along(const cv::Mat& mask, const cv::Mat& edge, const cv::Mat& visible) {
  constexpr int reach = 5;  // px, of the square in which the edge may lie: the two maps agree to about 2 px
  cv::Mat inner, near, border;
  cv::dilate(edge, near, cv::Mat::ones(reach, reach, CV_8U));
  cv::erode(mask, inner, cv::Mat::ones(3, 3, CV_8U));
  cv::erode(visible, border, cv::Mat::ones(2 * reach + 1, 2 * reach + 1, CV_8U), {-1, -1}, 1, cv::BORDER_CONSTANT,
            cv::Scalar(0));
  border &= mask & ~inner;
  return cv::countNonZero(border) == 0 ? 0 : cv::mean(near, border)[0];
}

cv::Mat parts_between_edges(const cv::Mat& mask, const cv::Mat& edge, double edge_most, double mm_per_px) {
  constexpr double least_part = 500;  // mm2: smaller is an edge's own roughness
  cv::Mat smooth, core;
  cv::GaussianBlur(edge, smooth, {0, 0}, smoothing_px);
  cv::morphologyEx(mask & (smooth < edge_most), core, cv::MORPH_OPEN, disc(core_opening / mm_per_px + 1));
  const cv::Mat cores = numbered(core, least_part / (mm_per_px * mm_per_px));
  return cv::countNonZero(cores) == 0 ? cv::Mat(cv::Mat::zeros(mask.size(), CV_16U)) : grown_back(cores, mask, smooth);
}

std::vector<EyePanel> eye_panels(const EyeMaps& maps, const cv::Mat& visible, double mm_per_px,
                                 const TraceOptions& options) {
  const double px_area = mm_per_px * mm_per_px;
  const cv::Mat panel = (maps.panel > panel_least) & visible;
  cv::Mat edge, core;
  cv::GaussianBlur(maps.edge, edge, {0, 0}, smoothing_px);
  cv::morphologyEx(panel & (edge < core_edge_most), core, cv::MORPH_OPEN, disc(core_opening / mm_per_px + 1));
  const cv::Mat cores = numbered(core, core_share * options.min_area / px_area);
  std::vector<EyePanel> out;
  if (cv::countNonZero(cores) == 0) return out;
  for (const cv::Mat& whole : joined(grown_back(cores, panel, edge), edge)) {
    EyePanel p;
    p.mask = tidied(whole, mm_per_px, options);
    if (cv::countNonZero(p.mask) * px_area < options.min_area || !panel_like(p.mask, mm_per_px, options)) continue;
    p.sure = cv::mean(maps.panel, p.mask)[0];
    p.bounded = edge_along(p.mask, maps.edge, visible);
    out.push_back(std::move(p));
  }
  std::stable_sort(out.begin(), out.end(), [](const EyePanel& a, const EyePanel& b) {
    return cv::countNonZero(a.mask) > cv::countNonZero(b.mask);
  });
  return out;
}

}  // namespace chalkfold::trace
