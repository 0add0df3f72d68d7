// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/trace.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "calib/sheet_layout.h"
#include "pipeline/common/require.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/regions.h"
#include "pipeline/geometry/robust.h"
#include "pipeline/trace/base/table_raster.h"
#include "pipeline/trace/chalk/chalk_lines.h"
#include "pipeline/trace/edge/boundary_path.h"
#include "pipeline/trace/edge/boundary_sampler.h"
#include "pipeline/trace/edge/busy_boundary.h"
#include "pipeline/trace/edge/fringes.h"
#include "pipeline/trace/edge/outline_fit.h"
#include "pipeline/trace/edge/soft_edge.h"
#include "pipeline/trace/edge/uncertainty.h"
#include "pipeline/trace/find/give_tags.h"
#include "pipeline/trace/find/segment.h"
#include "pipeline/trace/find/table_masks.h"
#include "pipeline/trace/find_marks.h"

namespace chalkfold::trace {
namespace {

// fitted: outline_accuracy.py, seeds 9001, 21001, 31001, 41001, and the photographs
constexpr double width_slack = 0.5;   // mm: a strip cut to the narrowest width may have shrunk
constexpr double least_contrast = 2;  // sigmas of unevenness: below, single places are found by luck (95 % of a normal)
constexpr double most_failed = 0.25;  // of an outline's places without an edge; fitted

double median_blur(const capture::Sighting& sighting) {
  std::vector<double> blur;
  for (const capture::SheetSighting& s : sighting.sheets) blur.push_back(s.blur_px);
  return blur.empty() ? OutlineFitOptions{}.blur_px : geometry::median(std::move(blur));
}

Fault panel_fault(const char* code, Severity severity, std::string seen, std::string remedy, const std::string& photo) {
  return {code, severity, std::move(seen), std::move(remedy), photo, ""};
}

/// Sheets and tags, as large as their paper may be and a hair more.
void cover_cards(BoundarySampler& sampler, const capture::Sighting& sighting, const survey::TableView& view) {
  constexpr double margin = 0.7;  // mm: blur, and how well the survey knows them
  constexpr double half_width = 0.5 * widest_paper + margin, half_height = 0.5 * longest_paper + margin;
  for (const survey::SheetPlace& s : view.solution().sheets) {
    const geometry::Rigid2 place{s.theta, s.centre};
    sampler.cover({place * Vec2(-half_width, -half_height), place * Vec2(half_width, -half_height),
                   place * Vec2(half_width, half_height), place * Vec2(-half_width, half_height)});
  }
  constexpr double card = (sheet::tag_card + 2 * margin) / sheet::tag_side;
  for (const capture::TagSighting& tag : sighting.tags) {
    Polyline corners;
    Vec2 middle = Vec2::Zero();
    for (const Vec2& c : tag.corners_in_photo) {
      corners.push_back(view.table_from_photo(c, 0));
      middle += 0.25 * corners.back();
    }
    for (Vec2& c : corners) c = middle + card * (c - middle);
    sampler.cover(corners);
  }
}

std::optional<panel::Panel> measure_panel(const CoarsePanel& coarse, const PanelPrior& prior,
                                          const BoundarySampler& sampler, const survey::TableView& view,
                                          const TraceOptions& options, const OutlineFitOptions& fit_options,
                                          HeardLight& heard) {
  constexpr double least_area = 0.3;  // of the coarse region: a boundary that crossed itself encloses less
  // nats, for a nat of the network's: its pixels are some seven samples wide. What it drew where the colours do not tell has its odds already.
  constexpr float beside_colours = 0.1f;
  const float trust = coarse.by_eye ? 0 : beside_colours;
  const BoundaryPathOptions outer{.prior = prior, .trust = trust};
  // mm: what lies across a cut-out of 7 mm is not read
  const BoundaryPathOptions cutout_path{.search = 2.5, .context = 1.5, .prior = prior, .trust = trust};
  FollowedBoundary course;
  if (!coarse.busy) course = follow_boundary(sampler, coarse.outline, outer);
  const Polyline followed =
      coarse.busy ? follow_busy_boundary(sampler, coarse.outline) : without_fringes(sampler, course.points);
  if (geometry::signed_area(followed) < least_area * std::abs(geometry::signed_area(coarse.outline)))
    return std::nullopt;
  OutlineFit fit = fit_outline(sampler, followed, fit_options);
  heard = std::move(fit.heard);
  panel::Panel panel;
  panel.thickness = options.thickness;
  panel.outline = fit.contour;
  add_rival_doubt(panel.outline, course);
  fill_uncertainty(panel.outline, view, options);
  constexpr double seen_slack = 2.5;  // px of the network's map: how it draws a border and rounds a corner
  add_disagreement(panel.outline, coarse.seen_outline, seen_slack * prior.raster.mm_per_px);
  for (const Polyline& c : coarse.cutouts) {
    const FollowedBoundary around = follow_boundary(sampler, c, cutout_path);
    OutlineFit cutout = fit_outline(sampler, around.points, fit_options);
    if (!(geometry::signed_area(cutout.contour.points) < 0)) continue;
    add_rival_doubt(cutout.contour, around);
    fill_uncertainty(cutout.contour, view, options);
    panel.cutouts.push_back(std::move(cutout.contour));
  }
  fill_numbers(panel);
  panel.px_per_mm = px_per_mm_at(view, geometry::centroid(panel.outline.points), options.face_height());
  // Along the picture's border no edge is found: that says nothing of the panel.
  if (!coarse.cut_by_frame) add_doubtful_stretch(panel, view.solution().photo);
  if ((!coarse.cut_by_frame && fit.failed > most_failed) || fit.contrast < least_contrast) {
    panel.faults.push_back(
        panel_fault("panel-low-contrast", Severity::warning,
                    fmt::format("the panel hardly stands out from the table: its edge is {:.1f} times the materials' "
                                "own unevenness, and no edge was found at {:.0f} % of the outline",
                                fit.contrast, 100 * fit.failed),
                    "Lay the panel on something of another colour, or light it from the side.", view.solution().photo));
  }
  return panel;
}

/// One for each; nothing for those that could not be followed. `over_sheets` sees the sheets' print, for panels that lie on it. Those whose light
/// contradicts the others' are measured once more.
std::vector<std::optional<panel::Panel>> measure_panels(const Segmentation& segmentation,
                                                        const BoundarySampler& sampler,
                                                        const BoundarySampler& over_sheets,
                                                        const survey::TableView& view, const TraceOptions& options,
                                                        const OutlineFitOptions& fit_options) {
  const std::vector<CoarsePanel>& coarse = segmentation.panels;
  std::vector<std::optional<panel::Panel>> panels(coarse.size());
  std::vector<HeardLight> heard(coarse.size());
  const auto sampler_of = [&](std::size_t i) -> const BoundarySampler& {
    return coarse[i].over_sheet ? over_sheets : sampler;
  };
  for (std::size_t i = 0; i < coarse.size(); ++i)
    panels[i] = measure_panel(coarse[i], segmentation.prior, sampler_of(i), view, options, fit_options, heard[i]);
  const std::vector<std::optional<TableLight>> agreed = agreed_lights(heard);
  for (std::size_t i = 0; i < coarse.size(); ++i) {
    if (!panels[i] || !agreed[i]) continue;
    OutlineFitOptions in_light = fit_options;
    in_light.light = agreed[i];
    panels[i] = measure_panel(coarse[i], segmentation.prior, sampler_of(i), view, options, in_light, heard[i]);
  }
  return panels;
}

/// Near the picture's border the outline bends into it, by as much as the fit's windows reach.
Polyline believed_part(const capture::Photo& photo, const survey::TableView& view, const TraceOptions& options) {
  constexpr double rim = 15,
                   rim_px = 12;  // mm, px: how far the fit's windows and the picture's blur reach; fitted
  const double mm_per_px = view.mm_per_px({0.5 * photo.bgr.cols, 0.5 * photo.bgr.rows});
  Polyline shown = visible_table(view, options.face_height());
  if (!photo.intact_part.empty() && photo.intact_part.size() != photo.bgr.size()) {
    const cv::Rect& r = photo.intact_part;
    Polyline intact;
    for (const cv::Point& p : {r.tl(), cv::Point(r.x + r.width, r.y), r.br(), cv::Point(r.x, r.y + r.height)})
      intact.push_back(
          view.table_from_photo({static_cast<double>(p.x), static_cast<double>(p.y)}, options.face_height()));
    const auto both = geometry::overlap(shown, intact);
    if (both.empty()) return {};
    shown = both.front();
  }
  const auto inner = geometry::without_rim(shown, rim + rim_px * mm_per_px);
  return inner.empty() ? Polyline{} : inner.front();
}

PanelPart part_of(panel::Panel panel, const std::string& where, const capture::Photo& photo,
                  const survey::TableView& view, const TraceOptions& options) {
  constexpr std::size_t fewest = 8;  // points of a cut-out
  std::erase_if(panel.cutouts, [](const panel::Contour& c) { return c.points.size() < fewest; });
  PanelPart part{std::move(panel), believed_part(photo, view, options), {}};
  part.alone = panel_fault("panel-cut-by-frame", Severity::refusal, where + " runs off the picture",
                           "Move the phone back until the whole panel is in the picture; or take more photos that show "
                           "the rest, with the sheets left where they are and at least two of them in both pictures "
                           "(one will do if a job says that the pictures are of one setup).",
                           photo.name);
  return part;
}

/// "340 x 120 mm"
std::string size_of(const Polyline& outline) {
  const Vec2 size = geometry::bounding_box(outline).size();
  return fmt::format("{:.0f} x {:.0f} mm", size.x(), size.y());
}

/// Which words a fault has for a panel that has no tag yet.
std::string words_for(const CoarsePanel& coarse) { return "the panel of about " + size_of(coarse.outline); }

Fault left_out(const Polyline& outline, const std::string& photo) {
  const Vec2 at = geometry::centroid(outline);
  return panel_fault(
      "left-out", Severity::warning,
      fmt::format("something of about {} at ({:.0f}, {:.0f}) mm on the table has another colour than the "
                  "table and no edge: it was taken for a stain or for shade, and left out",
                  size_of(outline), at.x(), at.y()),
      "If it is a panel, lay it on something of another colour and take the photo again.", photo);
}

/// Why a region is no panel to measure, if so.
std::optional<Fault> refusal_of(const CoarsePanel& coarse, const std::optional<panel::Panel>& panel,
                                const BoundarySampler& sampler, double thickness, const std::string& photo) {
  const std::string where = words_for(coarse);
  if (coarse.hidden_by_sheet)
    return panel_fault("panel-over-sheet", Severity::refusal, where + " lies over a calibration sheet",
                       "Leave a finger's breadth of bare table between panel and sheets.", photo);
  if (coarse.edge_lost > 0)
    return panel_fault(
        "panel-not-followed", Severity::refusal,
        fmt::format("over {:.0f} mm of the boundary of {} its edge is not told from the table or from a shadow's edge",
                    coarse.edge_lost, where),
        "Lay the panel on something of another colour, keep shadows off it, and take the photo again.", photo);
  if (!panel)
    return panel_fault(
        "panel-not-followed", Severity::refusal, "the boundary of " + where + " could not be followed all round",
        "Lay the panel on something of another colour, flat and without folds, and take the photo again.", photo);
  const auto soft = soft_stretch(panel->outline.points, sampler, thickness);
  if (!soft) return std::nullopt;
  const Vec2 place = panel->outline.points[soft->at] - geometry::bounding_box(panel->outline.points).min;
  return panel_fault(
      "no-sharp-edge", Severity::refusal,
      fmt::format("over {:.0f} mm near ({:.0f}, {:.0f}) mm from the lower left of {} there is no edge, only a slow "
                  "change of light",
                  soft->length, place.x(), place.y(), where),
      "Is there glare, a reflection or the border of a lamp's light? Move the lamp or the phone, shade the window, "
      "and take the photo again.",
      photo);
}

/// Measured panels and parts, and why others were refused; the panels left to right, then bottom to top.
TraceResult sorted_out(const Segmentation& segmentation, std::vector<std::optional<panel::Panel>> measured,
                       const BoundarySampler& sampler, const capture::Photo& photo, const survey::TableView& view,
                       const TraceOptions& options) {
  TraceResult result;
  for (const Polyline& outline : segmentation.left_out) result.faults.push_back(left_out(outline, photo.name));
  for (std::size_t i = 0; i < segmentation.panels.size(); ++i) {
    const CoarsePanel& coarse = segmentation.panels[i];
    std::optional<panel::Panel>& panel = measured[i];
    if (auto refusal = refusal_of(coarse, panel, sampler, options.thickness, photo.name)) {
      result.faults.push_back(std::move(*refusal));
      continue;
    }
    // The coarse mask lets anything pass that is within a pixel or so of wide enough; now the width is known: a rule of 28 mm is a tool.
    if (panel->extent.y() < options.min_width - width_slack) continue;
    panel->photo = photo.name;
    if (coarse.over_sheet)
      panel->faults.push_back(panel_fault(
          "panel-over-sheet", Severity::warning,
          "the panel lies over a calibration sheet: its edge was told from the print there, and may be less exact",
          "Leave a finger's breadth of bare table between panel and sheets.", photo.name));
    if (coarse.cut_by_frame)
      result.parts.push_back(part_of(std::move(*panel), words_for(coarse), photo, view, options));
    else
      result.panels.push_back(std::move(*panel));
  }
  std::sort(result.panels.begin(), result.panels.end(), [](const panel::Panel& a, const panel::Panel& b) {
    const Vec2 ca = geometry::centroid(a.outline.points), cb = geometry::centroid(b.outline.points);
    return std::tie(ca.x(), ca.y()) < std::tie(cb.x(), cb.y());
  });
  return result;
}

}  // namespace

TraceResult trace_panels(const capture::Photo& photo, const capture::Sighting& sighting, const survey::TableView& view,
                         const TraceOptions& options, const StagePicture& picture) {
  check(options);
  require(!photo.bgr.empty() && photo.bgr.type() == CV_8UC3, "the photo has no pixels of three bytes");
  const Segmentation segmentation = segment_panels(photo, sighting, view, options, picture);
  BoundarySampler sampler(photo.bgr, view, options.face_height(), options.thickness);
  const BoundarySampler over_sheets = sampler;
  cover_cards(sampler, sighting, view);
  OutlineFitOptions fit_options;
  fit_options.thickness = options.thickness;
  fit_options.blur_px = median_blur(sighting);
  TraceResult result =
      sorted_out(segmentation, measure_panels(segmentation, sampler, over_sheets, view, options, fit_options), sampler,
                 photo, view, options);
  std::vector<panel::Panel*> tagged;
  for (panel::Panel& panel : result.panels) tagged.push_back(&panel);
  for (PanelPart& part : result.parts) tagged.push_back(&part.panel);
  for (Fault& fault : give_tags(tagged, sighting, view)) result.faults.push_back(std::move(fault));
  for (panel::Panel& panel : result.panels) {
    find_marks(panel, photo, view, options, picture);
    if (!panel.marks.notches.empty()) fill_numbers(panel);
    if (options.rings) set_flaws(panel, find_chalk_lines(panel, photo, view, options), photo.name);
  }
  if (result.panels.empty() && result.parts.empty() && !has_refusal(result.faults)) {
    result.faults.push_back(panel_fault(
        "no-panel", Severity::refusal,
        fmt::format("no panel at least {:.0f} mm wide stands out from the table", options.min_width),
        "Lay the panel flat amid the sheets on a table of another colour; for narrower strips give --min-width-mm.",
        photo.name));
  }
  return result;
}

}  // namespace chalkfold::trace
