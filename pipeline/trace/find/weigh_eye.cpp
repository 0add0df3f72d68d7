// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/find/weigh_eye.h"

#include <algorithm>
#include <opencv2/imgproc.hpp>

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

/// Does at least half of a panel seen lie in a mask?
bool belongs(const cv::Mat& panel, const cv::Mat& mask) {
  return overlap(panel, mask) >= 0.5 * cv::countNonZero(panel);
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

/// Those connected parts of `disagreed`, wider than a border, that the network parts (or does not part) from `rest` by an edge: what changes from panel to table
/// without one is a doubt and no place.
cv::Mat decided_parts(const cv::Mat& disagreed, const cv::Mat& rest, const cv::Mat& edge, bool parted,
                      double mm_per_px) {
  cv::Mat out = cv::Mat::zeros(disagreed.size(), CV_8U), labels;
  const int count = cv::connectedComponents(wide_parts(disagreed, mm_per_px), labels, 4);
  for (int i = 1; i < count; ++i) {
    const cv::Mat part = labels == i;
    if ((edge_between(part, rest, edge) > least_bounded) == parted) out |= part;
  }
  return out;
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

/// Shares a mask out among the panels seen in it, each pixel to the nearest.
std::vector<cv::Mat> shared_out(const cv::Mat& mask, const std::vector<const cv::Mat*>& among) {
  std::vector<cv::Mat> parts;
  cv::Mat nearest(mask.size(), CV_32F, cv::Scalar(1e9));
  for (const cv::Mat* panel : among) {
    cv::Mat distance;
    cv::distanceTransform(~*panel, distance, cv::DIST_L2, 3);
    const cv::Mat nearer = distance < nearest;
    for (cv::Mat& part : parts) part.setTo(0, nearer);
    distance.copyTo(nearest, nearer);
    parts.push_back(mask & nearer);
  }
  return parts;
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

}  // namespace

std::vector<cv::Mat> weighed(const cv::Mat& by_colour, const EyeMaps& maps, const std::vector<EyePanel>& seen,
                             const cv::Mat& paper, double mm_per_px) {
  // A strip that the network takes for a rule is whole all the same: it judges what hangs on a panel, not whether there is one.
  if (std::none_of(seen.begin(), seen.end(), [&](const EyePanel& p) { return belongs(p.mask, by_colour); }))
    return {by_colour};
  constexpr double most_of = 0.8;  // of a panel seen lies in what the colours have: it is theirs too
  cv::Mat mask = by_colour & ~decided_parts(by_colour & (maps.panel < 1 - sure), by_colour, maps.edge, true, mm_per_px);
  std::vector<const cv::Mat*> inside;
  for (const EyePanel& p : seen) {
    const double common = overlap(p.mask, mask);
    if (!belongs(p.mask, mask)) continue;
    mask |= decided_parts(p.mask & ~by_colour & (maps.panel > sure), by_colour, maps.edge, false, mm_per_px);
    if (p.bounded > least_bounded) mask |= on_paper(p.mask, paper, by_colour, mm_per_px);
    if (common > most_of * cv::countNonZero(p.mask)) inside.push_back(&p.mask);
  }
  if (inside.size() > 1) return shared_out(mask, inside);
  return {mask};
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

}  // namespace chalkfold::trace
