// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/find/segment.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numbers>
#include <opencv2/imgproc.hpp>

#include "pipeline/geometry/robust.h"
#include "pipeline/trace/base/table_colours.h"
#include "pipeline/trace/find/busy_regions.h"
#include "pipeline/trace/find/coarse_table.h"
#include "pipeline/trace/find/faint_parts.h"
#include "pipeline/trace/find/learn_table.h"
#include "pipeline/trace/find/mask_cleaning.h"
#include "pipeline/trace/find/near_colours.h"
#include "pipeline/trace/find/panel_shape.h"
#include "pipeline/trace/find/weigh_eye.h"

namespace chalkfold::trace {
namespace {

// fitted: outline_accuracy.py, seeds 9001, 21001, 31001, 41001, and the photographs
/// Where a good share of the neighbourhood does not look like table: a check or stripe may share one of its colours with it.
cv::Mat mostly_far(const cv::Mat& far, const cv::Mat& near_paper, double mm_per_px) {
  constexpr double pattern = 10;  // mm, over which a check or stripe is judged; fitted
  constexpr double share = 0.3;   // of the neighbourhood: of a check or stripe that is not the table's colour; fitted
  cv::Mat hit, density;
  other_colour(far).convertTo(hit, CV_32F, 1.0 / 255);
  const int size = 2 * static_cast<int>(std::lround(0.5 * pattern / mm_per_px)) + 1;
  cv::boxFilter(hit, density, -1, {size, size});
  return cleaned(cleaned(other_colour(far), near_paper, mm_per_px) | (density > share), near_paper, mm_per_px);
}

struct Region {
  cv::Rect box;  // with margin, inside the raster
  cv::Mat mask;  // over the box
};

/// Connected regions large and wide enough for a panel.
std::vector<Region> panel_regions(const cv::Mat& mask, const CoarseTable& t, const TraceOptions& options) {
  cv::Mat labels, stats, centroids;
  const int count = cv::connectedComponentsWithStats(mask, labels, stats, centroids, 4);
  const double px = t.raster.mm_per_px;
  constexpr double beside = 15;  // mm about a region in which it is decided again; fitted
  const int margin = static_cast<int>(std::ceil(beside / px));
  std::vector<Region> regions;
  for (int i = 1; i < count; ++i) {
    if (stats.at<int>(i, cv::CC_STAT_AREA) * px * px < options.min_area) continue;
    Region r;
    r.box =
        cv::Rect(stats.at<int>(i, cv::CC_STAT_LEFT) - margin, stats.at<int>(i, cv::CC_STAT_TOP) - margin,
                 stats.at<int>(i, cv::CC_STAT_WIDTH) + 2 * margin, stats.at<int>(i, cv::CC_STAT_HEIGHT) + 2 * margin) &
        cv::Rect({}, t.raster.size);
    r.mask = labels(r.box) == i;
    if (!panel_like(r.mask, px, options)) continue;
    regions.push_back(std::move(r));
  }
  return regions;
}

constexpr double thick_panel = 3;  // mm: from here on its shadow is wider than a pixel or two of the coarse picture

/// Lowers the odds for panel where the table in a thick panel's shadow explains a colour as well.
void heed_shadow(const cv::Mat& lab, const cv::Mat& where, const ColourMixture& table, const ColourMixture& own,
                 cv::Mat& ratio) {
  constexpr double penalty = 1.5;           // nats: shadow is the exception; fitted
  for (const double shade : {0.75, 0.5}) {  // of lightness: half shadow and full; fitted
    cv::Mat lit;
    const double grey = lab_grey - lab_grey / shade;  // as relit() has it
    lab.convertTo(lit, CV_32FC3, 1 / shade);
    lit += cv::Scalar(0, grey, grey);
    lit.convertTo(lit, CV_8UC3);
    cv::Mat shaded = own.log_density(lab, where) - table.log_density(lit, where) + penalty;
    cv::min(ratio, shaded, shaded);
    shaded.copyTo(ratio, where);
  }
}

/// A mask without the few wide places in it where the bare table shows: a panel has none, for its cut-outs are not in its mask, but the handles of a tool
/// do when the filters have closed them. Many such places are a pattern of the table's colour, and stay.
cv::Mat without_handles(const cv::Mat& mask, const cv::Mat& far, double mm_per_px) {
  constexpr double least = 8;  // mm across: a finger goes through a handle, a check's cell is smaller; fitted
  constexpr int few = 4;       // a tool has two handles; fitted
  cv::Mat bare, labels;
  cv::morphologyEx(mask & same_colour(far), bare, cv::MORPH_OPEN, disc(least / mm_per_px));
  return cv::connectedComponents(bare, labels, 4) - 1 <= few ? cv::Mat(mask & ~bare) : mask;
}

/// Decides every pixel near a region again by how much better its own colours explain it than the bare table's do.
cv::Mat reclassify(const Region& region, const CoarseTable& t, const ColourMixture& table, double thickness,
                   double& separation, ColourMixture& own) {
  constexpr double rim = 8, reach = 20;  // mm, diameters: inside is all panel, the edge lies within the other; fitted
  constexpr int least_core = 100;        // px, to learn the panel's colours from
  constexpr int parts = 4, samples = 3000;  // colours: a check's two, chalk and shade; px, for speed
  constexpr double most_odds = 8;           // nats: no single pixel outvotes the window it is judged in; fitted
  const double px = t.raster.mm_per_px;
  cv::Mat core, near;
  cv::erode(region.mask, core, disc(rim / px));
  if (cv::countNonZero(core) < least_core) core = region.mask;
  cv::dilate(region.mask, near, disc(reach / px));
  near &= t.masks.visible(region.box) & ~t.masks.paper(region.box);
  const cv::Mat lab = t.lab(region.box);
  own = ColourMixture::fit(lab, core, parts, lab_floor, samples);
  std::vector<cv::Point> well_inside;
  cv::findNonZero(core, well_inside);
  separation = std::sqrt(median_distance2(table, lab, well_inside));
  if (own.empty()) return region.mask;
  cv::Mat ratio = own.log_density(lab, near) - table.log_density(lab, near);
  if (thickness >= thick_panel) heed_shadow(lab, near & ~core, table, own, ratio);
  cv::min(ratio, most_odds, ratio);
  cv::max(ratio, -most_odds, ratio);
  // A pattern that shares a colour with the table is judged over its repeat, anything else pixel by pixel.
  constexpr double pattern = 8;       // mm; fitted
  constexpr double own_enough = 0.9;  // of the panel that is likelier its own colour than the table's; fitted
  const double own_share =
      static_cast<double>(cv::countNonZero((ratio > 0) & core)) / std::max(1, cv::countNonZero(core));
  const int size = own_share < own_enough ? 2 * static_cast<int>(std::lround(0.5 * pattern / px)) + 1 : 3;
  cv::boxFilter(ratio, ratio, -1, {size, size});
  return (ratio > 0) & near;
}

/// Which pixels of a mask have one of the panel's colours, its chalk's not counted in; all, when those are not known.
cv::Mat like_panel(ColourMixture own, const cv::Mat& lab, const cv::Mat& mask) {
  constexpr double chalk = 0.05;  // share of a panel's area: a colour with less is drawn on it; fitted
  own.drop_strays(chalk);
  return own.empty() ? mask : cv::Mat(same_colour(own.distance2(lab, mask)) & mask);
}

/// Do the colours say that a panel lies over a sheet: is the sheet's white margin beside it of the panel's colour? Printed lines there are too thin to count.
bool covers_margin(const cv::Mat& mask, const Region& region, const CoarseTable& t, const ColourMixture& own) {
  constexpr double reach = 12;        // mm from the mask, which ends at the paper's border; fitted
  constexpr double line = 3;          // mm: the sheet's printed lines are thinner
  constexpr double least_area = 120;  // mm2: a flap of 1 cm2; fitted
  constexpr double darker = 40;  // codes of lightness below the paper: its own shades and its creases are less; fitted
  const double px = t.raster.mm_per_px;
  cv::Mat beside;
  cv::dilate(mask, beside, disc(2 * reach / px));
  beside &= t.masks.margin(region.box) & t.masks.visible(region.box);
  if (own.empty() || cv::countNonZero(beside) == 0) return false;
  cv::Mat lightness;
  cv::extractChannel(t.lab(region.box), lightness, 0);
  double paper = 0;  // the lightest of the margin is its paper
  cv::minMaxLoc(lightness, nullptr, &paper, nullptr, nullptr, beside);
  cv::Mat covered = same_colour(own.distance2(t.lab(region.box), beside)) & beside & (lightness < paper - darker);
  cv::morphologyEx(covered, covered, cv::MORPH_OPEN, disc(line / px));
  return cv::countNonZero(covered) * px * px > least_area;
}

/// Does the network say so? The colours leave paper out of a panel.
bool seen_on_paper(const cv::Mat& mask, const Region& region, const CoarseTable& t) {
  constexpr double least_area = 120;  // mm2: a flap of 1 cm2; fitted
  const double px = t.raster.mm_per_px;
  return cv::countNonZero(mask & t.masks.paper(region.box)) * px * px > least_area;
}

Polyline smooth_contour(const std::vector<cv::Point>& contour, const Region& region, const TableRaster& raster) {
  Polyline points;
  for (const cv::Point& p : contour)
    points.push_back(
        raster.table_from_raster({static_cast<double>(p.x + region.box.x), static_cast<double>(p.y + region.box.y)}));
  if (geometry::signed_area(points) < 0) std::reverse(points.begin(), points.end());
  return points;
}

/// Connected parts of a mask of at least so many pixels, the largest first.
std::vector<cv::Mat> parts_of(const cv::Mat& mask, double least) {
  cv::Mat labels, stats, centroids;
  const int count = cv::connectedComponentsWithStats(mask, labels, stats, centroids, 4);
  std::vector<int> order;
  for (int i = 1; i < count; ++i)
    if (stats.at<int>(i, cv::CC_STAT_AREA) >= least) order.push_back(i);
  std::stable_sort(order.begin(), order.end(), [&](int a, int b) {
    return stats.at<int>(a, cv::CC_STAT_AREA) > stats.at<int>(b, cv::CC_STAT_AREA);
  });
  std::vector<cv::Mat> parts;
  parts.reserve(order.size());
  for (const int i : order) parts.emplace_back(labels == i);
  return parts;
}

void find_cutouts(const cv::Mat& mask, const Region& region, const CoarseTable& t, const TraceOptions& options,
                  CoarsePanel& panel) {
  std::vector<std::vector<cv::Point>> contours;
  std::vector<cv::Vec4i> tree;
  cv::findContours(mask.clone(), contours, tree, cv::RETR_CCOMP, cv::CHAIN_APPROX_NONE);
  for (std::size_t i = 0; i < contours.size(); ++i) {
    if (tree[i][3] < 0) {
      Polyline outline = smooth_contour(contours[i], region, t.raster);
      if (panel.outline.empty() || geometry::signed_area(outline) > geometry::signed_area(panel.outline))
        panel.outline = std::move(outline);
      continue;
    }
    cv::Mat hole = cv::Mat::zeros(mask.size(), CV_8U);
    cv::drawContours(hole, contours, static_cast<int>(i), cv::Scalar(255), cv::FILLED);
    hole &= ~mask;
    constexpr double edge_px = 0.75;  // of slack: the mask's edge is good to about that; fitted
    if (widest_px(hole) * t.raster.mm_per_px < options.min_cutout_width - edge_px * t.raster.mm_per_px) continue;
    Polyline cutout = smooth_contour(contours[i], region, t.raster);
    std::reverse(cutout.begin(), cutout.end());
    panel.cutouts.push_back(std::move(cutout));
  }
}

/// Takes a region's final mask for a panel unless it proves too small or narrow; `taken` holds what other panels cover.
void take_panel(const cv::Mat& mask, const Region& region, const CoarseTable& t, const TraceOptions& options,
                const ColourMixture& own, CoarsePanel panel, cv::Mat& taken, Segmentation& out) {
  const double px = t.raster.mm_per_px;
  if (cv::countNonZero(mask) * px * px < options.min_area || !panel_like(mask, px, options)) return;
  panel.cut_by_frame = cv::countNonZero(mask & ~t.well_inside(region.box)) > 0;
  panel.over_sheet = seen_on_paper(mask, region, t);
  panel.hidden_by_sheet = !panel.over_sheet && covers_margin(mask, region, t, own);
  find_cutouts(mask, region, t, options, panel);
  taken(region.box) |= mask;
  out.panels.push_back(std::move(panel));
}

/// Takes a panel that the colours have (a mask of the raster), unless the network sees that they do not tell it from the table.
void take_whole(const cv::Mat& by_colour, const CoarseTable& t, const TraceOptions& options, const ColourMixture& own,
                const CoarsePanel& panel, cv::Mat& taken, Segmentation& out) {
  constexpr double least_seen = 0.5;  // probability of panel
  const double px = t.raster.mm_per_px;
  const Region whole{cv::Rect({}, t.raster.size), {}};
  const cv::Mat mask = weighed(by_colour, t.eye, t.seen, t.masks.paper, t.masks.visible, px);
  if (mask.empty()) {  // left to the network, unless it sees nothing there
    if (cv::countNonZero(by_colour & (t.eye.panel > least_seen)) == 0)
      out.left_out.push_back(smooth_contour(longest_contour(by_colour), whole, t.raster));
    return;
  }
  CoarsePanel taken_for = panel;
  taken_for.edge_lost = longest_without_edge(mask, t.eye, t.masks.visible, px);
  if (taken_for.edge_lost <= edge_gap) taken_for.edge_lost = 0;
  if (const EyePanel* same = same_panel(mask, t.seen))
    taken_for.seen_outline = smooth_contour(longest_contour(same->mask), whole, t.raster);
  const std::vector<cv::Mat> parts = parts_of(mask & ~taken, options.min_area / (px * px));
  if (!parts.empty()) take_panel(parts.front(), whole, t, options, own, std::move(taken_for), taken, out);
}

/// The same of a region's part, which may be several panels.
void take_weighed(const cv::Mat& part, const Region& region, const CoarseTable& t, const TraceOptions& options,
                  const ColourMixture& own, const CoarsePanel& panel, cv::Mat& taken, Segmentation& out) {
  cv::Mat by_colour = cv::Mat::zeros(t.raster.size, CV_8U);
  part.copyTo(by_colour(region.box));
  for (const cv::Mat& one : told_apart(by_colour, t.eye, t.seen, t.masks.visible, t.raster.mm_per_px, options))
    take_whole(one, t, options, own, panel, taken, out);
}

/// Panels that colour alone did not show, on what is left of the table: large and wide, for a tangle of thread and a pair of scissors are busy too.
void take_busy_panels(const cv::Mat& far, const CoarseTable& t, const TraceOptions& options, cv::Mat& taken,
                      Segmentation& out) {
  constexpr double beside = 14;             // mm beside a panel: fray, and its shadow
  constexpr double paper_blur = 5;          // mm beside paper: its blur, and half the window in which unrest is read
  constexpr double wider = 4, larger = 10;  // times the least panel: scissors with their handles are 80 mm wide
  constexpr double least_other = 0.1;       // of a panel that colour did not show, at least; fitted
  constexpr double fine_enough = 3;         // mm per px: thinned, not averaged, so that the weave's unrest stays
  const double px = t.raster.mm_per_px;
  const double thin = std::max(1.0, std::round(fine_enough / px));
  const auto thinned = [&](const cv::Mat& full) {
    cv::Mat small;
    cv::resize(full, small, {}, 1 / thin, 1 / thin, cv::INTER_NEAREST);
    return small;
  };
  const auto near = [&](const cv::Mat& mask, double mm) {
    cv::Mat distance;
    cv::distanceTransform(~mask, distance, cv::DIST_L2, 3);
    return cv::Mat(distance < mm / (thin * px));
  };
  const cv::Mat open =
      thinned(t.masks.visible) & ~near(thinned(t.masks.paper), paper_blur) & ~near(thinned(taken), beside);
  const cv::Mat unlike = other_colour(thinned(far));
  // Most photos are done with here.
  if (cv::countNonZero(unlike & open) * thin * thin * px * px < least_other * larger * options.min_area) return;
  cv::Mat found = busy_regions(unlike, thinned(t.lab), thinned(t.masks.ring | t.masks.rim) & ~unlike, open, thin * px);
  if (cv::countNonZero(found) * thin * thin * px * px < larger * options.min_area) return;
  cv::resize(found, found, t.raster.size, 0, 0, cv::INTER_NEAREST);
  TraceOptions large = options;
  large.min_width *= wider;
  large.min_area *= larger;
  for (const Region& region : panel_regions(cleaned(found, t.near_paper, px), t, large)) {
    CoarsePanel panel;
    panel.busy = true;
    take_weighed(region.mask, region, t, options, {}, panel, taken, out);
  }
}

/// Decides a region's border again and takes what proves to be panel of it.
void take_region(const Region& region, const ColourMixture& table, const cv::Mat& far, const CoarseTable& t,
                 const TraceOptions& options, cv::Mat& taken, Segmentation& out) {
  const double px = t.raster.mm_per_px;
  CoarsePanel panel;
  ColourMixture own;
  cv::Mat mask = reclassify(region, t, table, options.thickness, panel.separation, own);
  mask = cleaned(mask, t.near_paper(region.box), px);
  mask = without_spurs(mask, like_panel(own, t.lab(region.box), mask), px);
  // Two panels that lie close together were one candidate, perhaps. A neighbour's part is left to its own region.
  for (const cv::Mat& part : parts_of(mask, options.min_area / (px * px))) {
    if (2 * cv::countNonZero(part & region.mask) < cv::countNonZero(part)) continue;
    if (!panel_like(without_handles(part, far(region.box), px), px, options)) continue;
    take_weighed(part, region, t, options, own, panel, taken, out);
  }
}

/// A border that the network drew and how well it is borne out.
struct Drawn {
  cv::Mat mask;
  /// mm of it without an edge, and where the light changes by another ratio than along the rest
  double bare = 0, other_step = 0;
  /// share of it that has an edge, less the share without one or with another ratio
  double borne_out = 0;
};

Drawn judged(cv::Mat mask, const CoarseTable& t, const cv::Mat& open) {
  const double px = t.raster.mm_per_px;
  Drawn d;
  d.mask = std::move(mask);
  d.bare = longest_without_edge(d.mask, t.eye, t.masks.visible, px);
  d.other_step = longest_other_step(d.mask, t.eye, t.bgr, open, px);
  d.borne_out = edge_along(d.mask, t.eye.edge, t.masks.visible) -
                std::max(d.bare, d.other_step) / std::max(border_length(d.mask, px), px);
  return d;
}

/// Takes a panel that the network saw where the colours alone do not tell it from table or shade: as near colours draw it closer, or the light under a shadow,
/// or as it was seen; another than the first only where it is clearly the better borne out.
void take_seen(const cv::Mat& seen, const cv::Mat& far, const CoarseTable& t, const TraceOptions& options,
               cv::Mat& taken, Segmentation& out) {
  constexpr double other_step = 50;  // mm; fitted: the photographs as they are and after a phone's processing
  constexpr double clearly = 0.01;   // of the border: what a pixel more or less all round changes
  const double px = t.raster.mm_per_px;
  const cv::Mat open = t.masks.visible & ~t.masks.paper & ~taken;
  Drawn best = judged(told_from_near_colours(seen, t.lab, t.eye, open, px), t, open);
  for (const cv::Mat& mask : {told_under_shadow(seen, t.lab, t.eye, open, px), seen}) {
    Drawn other = judged(mask, t, open);
    if (other.borne_out > best.borne_out + clearly) best = std::move(other);
  }
  CoarsePanel panel;
  panel.by_eye = true;
  panel.busy = mingled(best.mask, other_colour(far), px);
  if (best.bare > edge_gap || best.other_step > other_step) panel.edge_lost = std::max(best.bare, best.other_step);
  take_panel(best.mask & ~taken, {cv::Rect({}, t.raster.size), {}}, t, options, {}, std::move(panel), taken, out);
}

Segmentation panels_on(const ColourMixture& table, const CoarseTable& t, const TraceOptions& options,
                       const StagePicture& picture) {
  Segmentation out;
  const double px = t.raster.mm_per_px;
  out.mm_per_px = px;
  if (table.empty()) return out;
  const cv::Mat open_table = t.masks.visible & ~t.masks.paper;
  const cv::Mat far = table.distance2(t.lab, open_table);
  const cv::Mat candidates = with_faint_parts(mostly_far(far, t.near_paper, px), far, open_table, t.near_paper, px);
  if (picture) picture("candidates", candidates);
  cv::Mat taken = cv::Mat::zeros(t.raster.size, CV_8U);
  for (const Region& region : panel_regions(candidates, t, options))
    take_region(region, table, far, t, options, taken, out);
  take_busy_panels(far, t, options, taken, out);
  for (const cv::Mat& seen : seen_by_eye_alone(t.seen, taken)) take_seen(seen, far, t, options, taken, out);
  if (picture) picture("panels", taken);
  return out;
}

/// What the network sees: blue edge, green thing, red panel, all of one brightness.
cv::Mat eye_picture(const EyeMaps& maps) {
  cv::Mat out;
  cv::merge(std::vector<cv::Mat>{maps.edge, maps.thing, maps.panel}, out);
  out.convertTo(out, CV_8UC3, 255);
  return out;
}

cv::Mat shadow_picture(const EyeMaps& maps) {
  cv::Mat out;
  maps.shadow.convertTo(out, CV_8U, 255);
  return out;
}

bool any_whole(const Segmentation& s) {
  return std::any_of(s.panels.begin(), s.panels.end(),
                     [](const CoarsePanel& p) { return !p.cut_by_frame && !p.hidden_by_sheet; });
}

}  // namespace

Segmentation segment_panels(const capture::Photo& photo, const capture::Sighting& sighting,
                            const survey::TableView& view, const TraceOptions& options, const StagePicture& picture) {
  const CoarseTable t = coarse_table(photo, sighting, view, options);
  if (picture) picture("table", t.bgr);
  if (picture) picture("eye", eye_picture(t.eye));
  if (picture) picture("shadow", shadow_picture(t.eye));
  Segmentation out = panels_on(learn_table(t.lab, t.masks, false), t, options, picture);
  out.prior = {t.raster, log_odds(t.eye.panel)};
  if (any_whole(out)) return out;
  // A shadow over part of the table, where no sheet lies, is no panel: the photographer's own, most often.
  Segmentation in_shade = panels_on(learn_table(t.lab, t.masks, true), t, options, picture);
  in_shade.prior = out.prior;
  return any_whole(in_shade) ? in_shade : out;
}

}  // namespace chalkfold::trace
