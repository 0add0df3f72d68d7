// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/find/weigh_eye.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "pipeline/geometry/robust.h"
#include "pipeline/trace/find/table_masks.h"

namespace chalkfold::trace {
namespace {

// Odds of 4 to 1: its probabilities are shares, within 0.06 (demo/train/weights, record), so that it errs in one px of five at the most.
constexpr double sure = 0.8;
// of edge along a border, in the mean: panels have 0.5 to 0.96, a cloud of doubt a tenth of that; the photographs and demo scenes 970001 to 970016
constexpr double least_bounded = 0.3;
// mm: what is narrower is how finely the two draw a border and a chalk mark at it, not what they take it for; the same
constexpr double border = 12;

double overlap(const cv::Mat& a, const cv::Mat& b) { return cv::countNonZero(a & b); }

/// Connected parts of `disagreed` that are wider than a border, each with all that hangs on it up to half a border.
cv::Mat wide_parts(const cv::Mat& disagreed, double mm_per_px) {
  cv::Mat core, reach;
  cv::morphologyEx(disagreed, core, cv::MORPH_OPEN, disc(border / mm_per_px));
  cv::dilate(core, reach, disc(border / mm_per_px));
  return reach & disagreed;
}

/// Do two masks show one panel: does half of the smaller lie in the other?
bool one_panel(const cv::Mat& a, const cv::Mat& b) {
  return overlap(a, b) > 0.5 * std::min(cv::countNonZero(a), cv::countNonZero(b));
}

/// Mean of the surest edge within a pixel or two along the border between a part and what it hangs on.
double edge_between(const cv::Mat& part, const cv::Mat& rest, const cv::Mat& edge) {
  constexpr int reach = 5;  // px, of the square in which the edge may lie
  cv::Mat beside, near;
  cv::dilate(part, beside, cv::Mat::ones(3, 3, CV_8U));
  beside &= rest & ~part;
  if (cv::countNonZero(beside) == 0) return 0;
  cv::dilate(edge, near, cv::Mat::ones(reach, reach, CV_8U));
  return cv::mean(near, beside)[0];
}

/// Is a part of `left_out`, wider than a border, of one piece with the rest: is there no edge between?
bool of_one_piece(const cv::Mat& left_out, const cv::Mat& rest, const cv::Mat& edge, double mm_per_px) {
  cv::Mat labels;
  const int count = cv::connectedComponents(wide_parts(left_out, mm_per_px), labels, 4);
  for (int i = 1; i < count; ++i)
    if (edge_between(labels == i, rest, edge) < least_bounded) return true;
  return false;
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

/// Part of a mask's candidates that belongs to a panel as a whole.
bool same_shape(const cv::Mat& panel, const cv::Mat& candidates) {
  constexpr double share = 0.9;  // intersection over union: two pixels all round a small panel make up the rest
  cv::Mat labels;
  const int count = cv::connectedComponents(candidates, labels, 4);
  for (int i = 1; i < count; ++i) {
    const cv::Mat part = labels == i;
    const double common = overlap(part, panel);
    if (common > share * (cv::countNonZero(part) + cv::countNonZero(panel) - common)) return true;
  }
  return false;
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
                double mm_per_px) {
  cv::Mat mask = by_colour.clone();
  for (const EyePanel& p : seen) {
    if (p.sure < sure || p.bounded < least_bounded || !one_panel(p.mask, by_colour)) continue;
    const cv::Mat left_out = p.mask & ~by_colour & ~paper & (maps.panel > sure);
    if (of_one_piece(left_out, by_colour, maps.edge, mm_per_px)) return {};
    mask |= on_paper(p.mask, paper, by_colour, mm_per_px);
  }
  return mask;
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

std::vector<cv::Mat> crossed_by_shadow(const std::vector<EyePanel>& seen, const EyeMaps& maps,
                                       const cv::Mat& candidates) {
  constexpr double in_shadow = 0.6, in_light = 0.4;  // probability of shadow
  constexpr double share = 0.04;                     // of the panel lies in each, at least
  std::vector<cv::Mat> out;
  for (const EyePanel& p : seen) {
    if (p.sure < sure || p.bounded < least_bounded) continue;
    const double shaded = overlap(maps.shadow > in_shadow, p.mask), lit = overlap(maps.shadow < in_light, p.mask),
                 area = cv::countNonZero(p.mask);
    if (shaded < share * area || lit < share * area || same_shape(p.mask, candidates)) continue;
    out.push_back(p.mask);
  }
  return out;
}

double longest_without_edge(const cv::Mat& mask, const EyeMaps& maps, const cv::Mat& visible, double mm_per_px) {
  constexpr int reach = 7;         // px, of the square in which the edge may lie: the colours have moved the border
  constexpr double no_edge = 0.1;  // probability
  cv::Mat near, inside;
  cv::dilate(maps.edge, near, cv::Mat::ones(reach, reach, CV_8U));
  cv::erode(visible, inside, cv::Mat::ones(reach, reach, CV_8U), {-1, -1}, 1, cv::BORDER_CONSTANT, cv::Scalar(0));
  return longest_run(mask, inside & (near < no_edge), mm_per_px);
}

double longest_other_step(const cv::Mat& mask, const cv::Mat& bgr, const cv::Mat& open, double mm_per_px) {
  constexpr double border = 3, deep = 15,
                   beside = 20;    // mm: blur and contact shadow; how far each side is read; the window
  constexpr double other = 0.35;   // nats: a wood's grain makes 0.15
  constexpr double enough = 0.05;  // of the window
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
  return longest_run(mask, differs & border_px, mm_per_px);
}

}  // namespace chalkfold::trace
