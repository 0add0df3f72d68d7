// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/trace.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "calib/sheet_layout.h"
#include "pipeline/geometry/median.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/trace/boundary_path.h"
#include "pipeline/trace/boundary_sampler.h"
#include "pipeline/trace/find_marks.h"
#include "pipeline/trace/outline_fit.h"
#include "pipeline/trace/segment.h"

namespace chalkfold {
namespace {

// What no fit sees: the edge model's own error on real edges, against truth on rendered photographs.
constexpr double edge_model_sigma = 0.03;   // mm
constexpr double edge_model_px = 0.06;      // px
constexpr double wall_model_sigma = 0.015;  // mm per mm of thickness: side wall and cast shadow beside a thick panel

constexpr double width_slack = 0.5;   // mm: a strip cut to the narrowest width may have shrunk
constexpr double least_contrast = 2;  // sigmas of unevenness: below, single places are found by luck

double median_blur(const Sighting& sighting) {
  std::vector<double> blur;
  for (const SheetSighting& s : sighting.sheets) blur.push_back(s.blur_px);
  if (blur.empty()) return 0.7;
  std::sort(blur.begin(), blur.end());
  return blur[blur.size() / 2];
}

/// Expanded uncertainty of every point: edge finding, edge model, survey and height, the outline's rigid motion removed.
void fill_uncertainty(Contour& contour, const TableView& view, const TraceOptions& options) {
  constexpr std::size_t most =
      160;  // the survey's part changes slowly along the outline: computed at so many places, linear between
  const std::size_t n = contour.points.size(), stride = std::max<std::size_t>(1, n / most);
  const Polyline all_normals = right_normals(contour.points, 2);
  Polyline points, normals;
  for (std::size_t i = 0; i < n; i += stride) {
    points.push_back(contour.points[i]);
    normals.push_back(all_normals[i]);
  }
  const std::vector<double> shape = view.shape_sigma(points, normals, options.face_height(), options.thickness_sigma);
  contour.U.resize(n);
  for (std::size_t i = 0; i < n; ++i) {
    const std::size_t a = std::min(i / stride, shape.size() - 1), b = (a + 1) % shape.size();
    const double t = static_cast<double>(i - a * stride) / static_cast<double>(stride);
    const double survey = (1 - t) * shape[a] + t * shape[b];
    const double pixel =
        edge_model_px * view.mm_per_px(view.photo_from_table(contour.points[i], options.face_height()));
    const double wall = wall_model_sigma * options.thickness;
    contour.U[i] = 2 * std::sqrt(survey * survey + contour.sigma[i] * contour.sigma[i] +
                                 edge_model_sigma * edge_model_sigma + pixel * pixel + wall * wall);
  }
}

/// Sides of the smallest rectangle around the points, longer first, by turning in steps of a quarter degree.
Vec2 smallest_extent(const Polyline& points) {
  Vec2 best(1e300, 1e300);
  for (int i = 0; i < 360; ++i) {
    const Rigid2 turn{i * 0.25 * M_PI / 180, Vec2::Zero()};
    Box box;
    for (std::size_t k = 0; k < points.size(); k += 2) box.add(turn * points[k]);
    if (box.size().prod() < best.prod()) best = box.size();
  }
  return best.x() >= best.y() ? best : Vec2(best.y(), best.x());
}

void fill_numbers(Panel& panel, const TableView& view) {
  panel.area = signed_area(panel.outline.points);
  for (const Contour& c : panel.cutouts) panel.area += signed_area(c.points);
  panel.perimeter = length(panel.outline.points, true);
  panel.extent = smallest_extent(panel.outline.points);
  panel.edge_sigma = median(panel.outline.sigma);
  panel.U_median = median(panel.outline.U);
  panel.U_max = *std::max_element(panel.outline.U.begin(), panel.outline.U.end());
  panel.px_per_mm = 1 / view.mm_per_px(view.photo_from_table(centroid(panel.outline.points), panel.thickness));
}

Fault panel_fault(const char* code, Severity severity, std::string seen, std::string remedy, const std::string& photo) {
  return {code, severity, std::move(seen), std::move(remedy), photo, ""};
}

/// Nearest tag to each panel; a tag serves the panel it lies nearest to.
void give_tags(std::vector<Panel>& panels, const Sighting& sighting, const TableView& view) {
  for (const TagSighting& tag : sighting.tags) {
    Vec2 at = Vec2::Zero();
    for (const Vec2& c : tag.corners_in_photo) at += 0.25 * view.table_from_photo(c, 0);
    Panel* nearest = nullptr;
    double best = 1e300;
    for (Panel& p : panels) {
      const double d = contains(p.outline.points, at) ? 0 : distance_to(p.outline.points, at, true);
      if (d < best) {
        best = d;
        nearest = &p;
      }
    }
    if (nearest && !nearest->tag) nearest->tag = tag.number;
  }
}

/// Sheets and tags, as large as their paper may be and a hair more.
void cover_cards(BoundarySampler& sampler, const Sighting& sighting, const TableView& view) {
  constexpr double margin = 0.7;  // mm: blur, and how well the survey knows them
  constexpr double half_width = 0.5 * 215.9 + margin,
                   half_height = 0.5 * 297 + margin;  // the wider of Letter, the longer of A4
  for (const SheetPlace& s : view.solution().sheets) {
    const Rigid2 place{s.theta, s.centre};
    sampler.cover({place * Vec2(-half_width, -half_height), place * Vec2(half_width, -half_height),
                   place * Vec2(half_width, half_height), place * Vec2(-half_width, half_height)});
  }
  constexpr double card = (sheet::tag_card + 2 * margin) / sheet::tag_side;
  for (const TagSighting& tag : sighting.tags) {
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

/// A long stretch whose U is large says more than one number for the whole panel: the user should look there.
void add_doubtful_stretch(Panel& panel, const std::string& photo) {
  constexpr double large = 1.0;   // mm of U: what a trimmer would see on the cut piece
  constexpr double long_mm = 40;  // a nick and the corner either side are shorter
  const Contour& c = panel.outline;
  const std::size_t n = c.points.size();
  double best = 0, run = 0, worst = 0, run_worst = 0;
  std::size_t at = 0, run_at = 0;
  for (std::size_t k = 0; k < 2 * n; ++k) {  // twice round: a stretch may pass the start
    const std::size_t i = k % n;
    if (c.U[i] < large) {
      run = run_worst = 0;
      continue;
    }
    run = std::min(run + (c.points[(i + 1) % n] - c.points[i]).norm(), panel.perimeter);
    if (c.U[i] > run_worst) {
      run_worst = c.U[i];
      run_at = i;
    }
    if (run <= best) continue;
    best = run;
    worst = run_worst;
    at = run_at;
  }
  if (best < long_mm) return;
  const Vec2 place = c.points[at] - bounding_box(c.points).min;
  panel.faults.push_back(panel_fault(
      "outline-doubtful", Severity::warning,
      fmt::format("over {:.0f} mm of the outline the edge may be off by more than {:.0f} mm, by up to {:.1f} mm near "
                  "({:.0f}, {:.0f}) mm from the panel's lower left",
                  best, large, worst, place.x(), place.y()),
      "Look at that place in the picture; trim loose threads there, or lay the panel on something of another colour.",
      photo));
}

std::optional<Panel> measure_panel(const CoarsePanel& coarse, const BoundarySampler& sampler, const TableView& view,
                                   const TraceOptions& options, const OutlineFitOptions& fit_options) {
  BoundaryPathOptions path;
  path.search = options.search;
  const Polyline followed = follow_boundary(sampler, coarse.outline, path);
  if (signed_area(followed) < 0.3 * std::abs(signed_area(coarse.outline))) return std::nullopt;
  const OutlineFit fit = fit_outline(sampler, followed, fit_options);
  Panel panel;
  panel.thickness = options.thickness;
  panel.outline = fit.contour;
  fill_uncertainty(panel.outline, view, options);
  BoundaryPathOptions narrow = path;
  narrow.search = std::min(path.search, 2.5);
  narrow.context = 1.5;
  for (const Polyline& c : coarse.cutouts) {
    OutlineFit cutout = fit_outline(sampler, follow_boundary(sampler, c, narrow), fit_options);
    if (!(signed_area(cutout.contour.points) < 0)) continue;
    fill_uncertainty(cutout.contour, view, options);
    panel.cutouts.push_back(std::move(cutout.contour));
  }
  fill_numbers(panel, view);
  add_doubtful_stretch(panel, view.solution().photo);
  if (fit.failed > 0.25 || fit.contrast < least_contrast) {
    panel.faults.push_back(
        panel_fault("panel-low-contrast", Severity::warning,
                    fmt::format("the panel hardly stands out from the table: its edge is {:.1f} times the materials' "
                                "own unevenness, and no edge was found at {:.0f} % of the outline",
                                fit.contrast, 100 * fit.failed),
                    "Lay the panel on something of another colour, or light it from the side.", view.solution().photo));
  }
  return panel;
}

}  // namespace

TraceResult trace_panels(const Photo& photo, const Sighting& sighting, const TableView& view,
                         const TraceOptions& options, const StagePicture& picture) {
  TraceResult result;
  const Segmentation segmentation = segment_panels(photo, sighting, view, options, picture);
  BoundarySampler sampler(photo.bgr, view, options.face_height(), options.thickness);
  cover_cards(sampler, sighting, view);
  OutlineFitOptions fit_options;
  fit_options.spacing = options.spacing;
  fit_options.thickness = options.thickness;
  fit_options.blur_px = median_blur(sighting);
  for (const CoarsePanel& coarse : segmentation.panels) {
    const Box box = bounding_box(coarse.outline);
    const std::string where = fmt::format("the panel of about {:.0f} x {:.0f} mm", box.size().x(), box.size().y());
    if (coarse.cut_by_frame) {
      result.faults.push_back(panel_fault(
          "panel-cut-by-frame", Severity::refusal, where + " runs off the picture",
          "Move the phone back until the whole panel is in the picture, or measure it in several photos.", photo.name));
      continue;
    }
    if (coarse.over_sheet) {
      result.faults.push_back(
          panel_fault("panel-over-sheet", Severity::refusal, where + " lies over a calibration sheet",
                      "Leave a finger's breadth of bare table between panel and sheets.", photo.name));
      continue;
    }
    auto panel = measure_panel(coarse, sampler, view, options, fit_options);
    if (!panel) {
      result.faults.push_back(panel_fault(
          "panel-not-followed", Severity::refusal, "the boundary of " + where + " could not be followed all round",
          "Lay the panel on something of another colour, flat and without folds, and take the photo again.",
          photo.name));
      continue;
    }
    // The coarse mask lets anything pass that is within a pixel or so of wide enough; now the width is known: a rule of 28 mm is a tool.
    if (panel->extent.y() < options.min_width - width_slack) continue;
    panel->photo = photo.name;
    result.panels.push_back(std::move(*panel));
  }
  std::sort(result.panels.begin(), result.panels.end(), [](const Panel& a, const Panel& b) {
    const Vec2 ca = centroid(a.outline.points), cb = centroid(b.outline.points);
    return std::tie(ca.x(), ca.y()) < std::tie(cb.x(), cb.y());
  });
  give_tags(result.panels, sighting, view);
  for (Panel& panel : result.panels) {
    find_marks(panel, photo.bgr, view, options, picture);
    if (!panel.marks.notches.empty()) fill_numbers(panel, view);
  }
  if (result.panels.empty() && !has_refusal(result.faults)) {
    result.faults.push_back(panel_fault(
        "no-panel", Severity::refusal,
        fmt::format("no panel at least {:.0f} mm wide stands out from the table", options.min_width),
        "Lay the panel flat amid the sheets on a table of another colour; for narrower strips give --min-width-mm.",
        photo.name));
  }
  return result;
}

}  // namespace chalkfold
