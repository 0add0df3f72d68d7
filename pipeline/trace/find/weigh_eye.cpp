// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/find/weigh_eye.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "pipeline/geometry/robust.h"
#include "pipeline/trace/find/panel_shape.h"
#include "pipeline/trace/find/table_masks.h"

namespace chalkfold::trace {
namespace {

// Odds of 4 to 1: its probabilities are shares, within 0.06 (demo/train/weights, record), so that it errs in one px of five at the most.
constexpr double sure = 0.8;
// of edge along a border, in the mean: panels have 0.5 to 0.96, a cloud of doubt a tenth of that; the photographs and demo scenes 970001 to 970016
constexpr double least_bounded = 0.3;
// Share of a border, by the network's probability of an edge there, by which its own must be the better bounded: where both are right they differ by 0.02 at
// the most and the colours draw it closer; photographs and demo scenes 995001 to 995016.
constexpr double better = 0.1;

double overlap(const cv::Mat& a, const cv::Mat& b) { return cv::countNonZero(a & b); }

/// Do two masks show one panel: does half of the smaller lie in the other?
bool one_panel(const cv::Mat& a, const cv::Mat& b) {
  return overlap(a, b) > 0.5 * std::min(cv::countNonZero(a), cv::countNonZero(b));
}

/// What of a panel lies on paper, with what the colours left out beside it; nothing where it only borders on it.
cv::Mat on_paper(const cv::Mat& panel, const cv::Mat& paper, const cv::Mat& by_colour, double mm_per_px) {
  constexpr double flap = 5;    // mm: narrower is how finely the network draws a border
  constexpr double beside = 8;  // mm that the colours leave out about paper, for its shadow
  cv::Mat core, near;
  cv::morphologyEx(panel & paper & ~by_colour, core, cv::MORPH_OPEN, disc(flap / mm_per_px));
  if (cv::countNonZero(core) == 0) return cv::Mat::zeros(panel.size(), CV_8U);
  cv::dilate(core, near, disc(2 * beside / mm_per_px));
  return near & panel;
}

/// What other panels enclose and leave bare: their cut-outs, through which table shows.
cv::Mat cutouts_of(const cv::Mat& taken) {
  cv::Mat labels, stats, centroids, out = cv::Mat::zeros(taken.size(), CV_8U);
  const int count = cv::connectedComponentsWithStats(~taken, labels, stats, centroids, 4);
  for (int i = 1; i < count; ++i) {
    const int left = stats.at<int>(i, cv::CC_STAT_LEFT), top = stats.at<int>(i, cv::CC_STAT_TOP);
    const bool enclosed = left > 0 && top > 0 && left + stats.at<int>(i, cv::CC_STAT_WIDTH) < taken.cols &&
                          top + stats.at<int>(i, cv::CC_STAT_HEIGHT) < taken.rows;
    if (enclosed) out.setTo(255, labels == i);
  }
  return out;
}

/// Longest run of `there` along the outer border of a mask, mm.
double longest_run(const cv::Mat& mask, const cv::Mat& there, double mm_per_px) {
  std::vector<std::vector<cv::Point>> contours;
  cv::findContours(mask.clone(), contours, cv::RETR_EXTERNAL, cv::CHAIN_APPROX_NONE);
  double longest = 0;
  for (const auto& contour : contours) {
    double run = 0;
    // twice round: a stretch may lie over the contour's first point
    for (std::size_t i = 1; i < 2 * contour.size(); ++i) {
      const cv::Point &at = contour[i % contour.size()], &before = contour[(i - 1) % contour.size()];
      run = there.at<unsigned char>(at) > 0 ? run + mm_per_px * std::hypot(at.x - before.x, at.y - before.y) : 0;
      longest = std::max(longest, run);
    }
  }
  return longest;
}

constexpr int edge_reach = 7;  // px, of the square in which an edge may lie: the colours have moved the border

/// The surest edge near each pixel.
cv::Mat edge_near(const EyeMaps& maps) {
  cv::Mat near;
  cv::dilate(maps.edge, near, cv::Mat::ones(edge_reach, edge_reach, CV_8U));
  return near;
}

/// log of the mean linear light (CV_32FC3) of what `where` takes in of a window about each pixel; `share` tells how much that is.
cv::Mat log_light(const cv::Mat& linear, const cv::Mat& where, int window, cv::Mat& share) {
  constexpr double dark = 0.005;  // of white: a code or two of a dark picture
  cv::Mat weight, masked, sum;
  where.convertTo(weight, CV_32F, 1.0 / 255);
  cv::boxFilter(weight, share, -1, {window, window});
  masked = cv::Mat::zeros(linear.size(), CV_32FC3);
  linear.copyTo(masked, where);
  cv::boxFilter(masked, sum, -1, {window, window});
  std::vector<cv::Mat> channels;
  cv::split(sum, channels);
  for (cv::Mat& c : channels) {
    c = c / cv::max(share, 1e-3) + dark;
    cv::log(c, c);
  }
  cv::merge(channels, sum);
  return sum;
}

}  // namespace

cv::Mat weighed(const cv::Mat& by_colour, const EyeMaps& maps, const std::vector<EyePanel>& seen, const cv::Mat& paper,
                const cv::Mat& visible, double mm_per_px) {
  cv::Mat mask = by_colour.clone();
  double best = 0;
  bool all_round = false;
  for (const EyePanel& p : seen) {
    if (p.sure < sure || p.bounded < least_bounded || !one_panel(p.mask, by_colour)) continue;
    mask |= on_paper(p.mask, paper, by_colour, mm_per_px);
    best = std::max(best, p.bounded);
    all_round = all_round || longest_without_edge(p.mask, maps, visible, mm_per_px) <= edge_gap;
  }
  const double bounded = edge_along(mask, maps.edge, visible);
  const bool worse =
      bounded + better < best || (all_round && longest_without_edge(mask, maps, visible, mm_per_px) > edge_gap);
  return bounded < least_bounded || worse ? cv::Mat() : mask;
}

std::vector<cv::Mat> told_apart(const cv::Mat& by_colour, const EyeMaps& maps, const std::vector<EyePanel>& seen,
                                const cv::Mat& visible, double mm_per_px, const TraceOptions& options) {
  constexpr double within = 0.9;  // of the panel lies in the mask
  constexpr double beside = 4;    // mm: how differently the two draw one border
  for (const EyePanel& p : seen) {
    if (p.sure < sure || p.bounded < least_bounded || overlap(p.mask, by_colour) < within * cv::countNonZero(p.mask) ||
        longest_without_edge(p.mask, maps, visible, mm_per_px) > edge_gap)
      continue;
    cv::Mat grown, rest;
    cv::dilate(p.mask, grown, disc(2 * beside / mm_per_px));
    rest = largest_part(by_colour & ~grown);
    if (cv::countNonZero(rest) * mm_per_px * mm_per_px < options.min_area || !panel_like(rest, mm_per_px, options))
      continue;
    cv::dilate(rest, rest, disc(2 * beside / mm_per_px));
    rest &= by_colour & ~p.mask;
    if (longest_without_edge(rest, maps, visible, mm_per_px) <= edge_gap) return {by_colour & ~rest, rest};
  }
  return {by_colour};
}

const EyePanel* same_panel(const cv::Mat& mask, const std::vector<EyePanel>& seen) {
  constexpr double share =
      0.85;  // intersection over union: of the narrowest strip three pixels of border all round leave that
  for (const EyePanel& p : seen) {
    const double both = overlap(p.mask, mask);
    if (both > share * (cv::countNonZero(p.mask) + cv::countNonZero(mask) - both)) return &p;
  }
  return nullptr;
}

cv::Mat log_odds(const cv::Mat& probability) {
  constexpr float doubt = 0.02f;
  cv::Mat p = cv::min(cv::max(probability, doubt), 1 - doubt), yes, no;
  cv::log(p, yes);
  cv::log(1 - p, no);
  return yes - no;
}

std::vector<cv::Mat> seen_by_eye_alone(const std::vector<EyePanel>& seen, const cv::Mat& taken) {
  constexpr double most_known = 0.2;  // of it: a border's width of a panel that the colours have
  const cv::Mat cutouts = cutouts_of(taken);
  std::vector<cv::Mat> out;
  for (const EyePanel& p : seen) {
    if (p.sure < sure || p.bounded < least_bounded) continue;
    if (overlap(p.mask, taken) > most_known * cv::countNonZero(p.mask)) continue;
    if (overlap(p.mask, cutouts) > 0.5 * cv::countNonZero(p.mask)) continue;
    out.push_back(p.mask & ~taken);
  }
  return out;
}

double border_length(const cv::Mat& mask, double mm_per_px) {
  std::vector<std::vector<cv::Point>> contours;
  cv::findContours(mask.clone(), contours, cv::RETR_EXTERNAL, cv::CHAIN_APPROX_NONE);
  double longest = 0;
  for (const auto& contour : contours) longest = std::max(longest, mm_per_px * cv::arcLength(contour, true));
  return longest;
}

double longest_without_edge(const cv::Mat& mask, const EyeMaps& maps, const cv::Mat& visible, double mm_per_px) {
  constexpr double no_edge = 0.1;  // probability
  cv::Mat inside;
  cv::erode(visible, inside, cv::Mat::ones(edge_reach, edge_reach, CV_8U), {-1, -1}, 1, cv::BORDER_CONSTANT,
            cv::Scalar(0));
  return longest_run(mask, inside & (edge_near(maps) < no_edge), mm_per_px);
}

double longest_other_step(const cv::Mat& mask, const EyeMaps& maps, const cv::Mat& bgr, const cv::Mat& open,
                          double mm_per_px) {
  constexpr double border = 3, deep = 15,
                   beside = 20;    // mm: blur and contact shadow; how far each side is read; the window
  constexpr double other = 0.35;   // nats: a wood's grain makes 0.15
  constexpr double enough = 0.05;  // of the window
  constexpr double likely =
      0.5;  // probability of an edge: there it is the panel's, whatever the wood's grain does to the light
  cv::Mat linear, inner, outer, ring_in, ring_out, in_share, out_share;
  bgr.convertTo(linear, CV_32FC3, 1.0 / 255);
  cv::pow(linear, 2.2, linear);  // sRGB to a percent or two: both sides alike
  cv::erode(mask, inner, disc(2 * border / mm_per_px));
  cv::erode(mask, ring_in, disc(2 * deep / mm_per_px));
  cv::dilate(mask, outer, disc(2 * border / mm_per_px));
  cv::dilate(mask, ring_out, disc(2 * deep / mm_per_px));
  const int window = 2 * cvRound(0.5 * beside / mm_per_px) + 1;
  const cv::Mat step = log_light(linear, inner & ~ring_in & open, window, in_share) -
                       log_light(linear, ring_out & ~outer & open, window, out_share);
  cv::Mat border_px;
  cv::erode(mask, border_px, cv::Mat::ones(3, 3, CV_8U));
  border_px = mask & ~border_px & (in_share > enough) & (out_share > enough);
  std::vector<cv::Mat> channels;
  cv::split(step, channels);
  cv::Mat differs = cv::Mat::zeros(mask.size(), CV_8U);
  for (const cv::Mat& c : channels) {
    std::vector<double> values;
    for (int y = 0; y < c.rows; ++y)
      for (int x = 0; x < c.cols; ++x)
        if (border_px.at<unsigned char>(y, x) > 0) values.push_back(c.at<float>(y, x));
    if (values.empty()) return 0;
    differs |= cv::abs(c - geometry::median(std::move(values))) > other;
  }
  return longest_run(mask, differs & border_px & (edge_near(maps) < likely), mm_per_px);
}

}  // namespace chalkfold::trace
