// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cmath>

#include "pipeline/geometry/polygon.h"
#include "pipeline/output/json/results.h"

namespace chalkfold::test {

/// Notch of the flag, deep inside it, and the place where it would be were the flag mirrored left to right. `panel`
/// frame, mm.
inline const Vec2 flag_notch{196, 90}, flag_notch_mirrored{4, 90};

/// A flag 200 x 120 mm with one notch, in its right edge above the middle, and a square cut-out at its lower left:
/// unlike itself however it is mirrored or turned. The outline runs counter-clockwise with a point about every
/// millimetre; it lies away from the table's origin.
inline panel::Panel flag_panel(const std::string& name = "flag") {
  const Vec2 at(-37.25, 42.5);
  const auto closed = [&at](const Polyline& corners) {
    panel::Contour contour;
    for (std::size_t i = 0; i < corners.size(); ++i) {
      const Vec2 &a = corners[i], &b = corners[(i + 1) % corners.size()];
      const int steps = std::max(1, static_cast<int>(std::lround((b - a).norm())));
      for (int k = 0; k < steps; ++k) contour.points.push_back(at + a + (b - a) * k / steps);
    }
    contour.sigma.assign(contour.points.size(), 0.03);
    contour.U.assign(contour.points.size(), 0.25);
    return contour;
  };
  panel::Panel panel;
  panel.name = name;
  panel.photo = name + ".jpg";
  panel.thickness = 1.2;
  panel.outline = closed({{0, 0}, {200, 0}, {200, 80}, {188, 90}, {200, 100}, {200, 120}, {0, 120}});
  panel.cutouts = {closed({{20, 20}, {20, 40}, {40, 40}, {40, 20}})};
  panel.area = 200 * 120 - 0.5 * 20 * 12 - 20 * 20;
  panel.perimeter = geometry::length(panel.outline.points, true);
  panel.extent = {200, 120};
  panel.edge_sigma = 0.03;
  panel.U_median = 0.25;
  panel.U_max = 0.25;
  panel.px_per_mm = 3;
  return panel;
}

/// Results of one photo with one measured panel and one photo that was refused; names that want escaping.
inline output::Results sample_results() {
  output::Results results;
  results.exit = 1;
  results.options = {
      {"thickness_given", true},
      {"load", nlohmann::ordered_json::object()},
      {"sighting", nlohmann::ordered_json::object()},
      {"survey", {{"print", nlohmann::ordered_json::object()}, {"tape", nlohmann::ordered_json::array()}}},
      {"trace", {{"thickness", 1.2}, {"thickness_sigma", 0.2}}},
      {"draft",
       {{"existing_allowance", 10},
        {"allowance", 10},
        {"symmetric", "auto"},
        {"fold", "mean"},
        {"quantity", 1},
        {"face", false}}}};
  output::PhotoRecord good;
  good.name = "flag <1> & \"2\".jpg";
  good.sha256 = std::string(64, 'a');
  good.model = "P1";
  good.focal_35mm = 26;
  good.width = 4032;
  good.height = 3024;
  good.intact = 1;
  good.sheets = {{1, 24, 0, 0, 0.8, 90.5}, {3, 20, 1, 3, 0.9, 88.25}};
  good.tags = {7};
  good.camera = output::CameraRecord{0, 0, 44, 1, 0.081, 12.5, 1050.5, 0.35};
  good.panels = {"flag <1> & \"2\""};
  good.faults = {
      {"sheet-cut-by-frame", Severity::warning, "3 of 24 corners of sheet 3 lie outside", "Move back.", good.name, {}}};
  output::PhotoRecord bad;
  bad.name = "dark\x1B[2J.jpg";
  bad.faults = {{"photo-not-a-picture", Severity::refusal, "dark.jpg is no picture", "Copy it again.", bad.name, {}}};
  results.photos = {good, bad};
  results.lenses = {calib::Lens{4032, 3024, 3000.5, 2015.5, 1511.5, 0.05, -0.1, 0.0002, -0.0003, 0.01}};
  results.print_scale_sigma = 0.0008;
  results.reprojection_rms_px = 0.081;
  output::PanelRecord record;
  record.panel = flag_panel("flag <1> & \"2\"");
  record.thickness_sigma = 0.2;
  record.files = {"measured/flag.dxf", "measured/flag.svg", "measured/flag.json"};
  record.picture = "pictures/flag #1.jpg";
  results.panels = {record};
  results.faults = {{"print-scale-unmeasured", Severity::warning, "bars not measured", "Measure the bars.", {}, {}}};
  return results;
}

}  // namespace chalkfold::test
