// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/json/panel_json.h"

#include "pipeline/common/utf8.h"
#include "pipeline/common/version.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/output/drawing/drawing.h"
#include "pipeline/output/json/json_values.h"
#include "pipeline/output/json/marks_json.h"

namespace chalkfold::output {

namespace {
using Json = nlohmann::ordered_json;
constexpr int decimals = 4;

Json numbers(const std::vector<double>& values) {
  Json json = Json::array();
  for (const double value : values) json.push_back(rounded(value, decimals));
  return json;
}

Json contour_json(const panel::Contour& contour, const Vec2& origin) {
  Json points = Json::array();
  for (const Vec2& p : in_panel_frame(contour.points, origin)) {
    points.push_back({rounded(p.x(), decimals), rounded(p.y(), decimals)});
  }
  return {{"points", points}, {"sigma", numbers(contour.sigma)}, {"U", numbers(contour.U)}};
}

Json flaw_json(const panel::Flaw& flaw, const Vec2& origin) {
  Json points = Json::array();
  for (const Vec2& p : in_panel_frame(flaw.ring, origin))
    points.push_back({rounded(p.x(), decimals), rounded(p.y(), decimals)});
  Json json = flaw_figures_json(flaw, origin);
  json["confidence"] = rounded(flaw.confidence, 4);
  json["colour"] = flaw.colour;
  json["points"] = points;
  return json;
}
}  // namespace

Json flaw_figures_json(const panel::Flaw& flaw, const Vec2& origin) {
  const Vec2 centre = geometry::centroid(flaw.ring) - origin, size = geometry::bounding_box(flaw.ring).size();
  return {{"centre", {rounded(centre.x(), 3), rounded(centre.y(), 3)}},
          {"size", {rounded(size.x(), 2), rounded(size.y(), 2)}},
          {"area", rounded(geometry::signed_area(flaw.ring), 1)},
          {"width", rounded(flaw.width, 3)},
          {"gap", rounded(flaw.gap, 2)},
          {"U", rounded(flaw.U, 4)}};
}

void add_material(Json& json, const panel::Panel& panel) {
  if (!panel::is_material(panel)) return;
  json["kind"] = panel::to_string(panel.kind);
  json["face_up"] = panel.face_up ? Json(*panel.face_up) : Json();
  json["usable_area"] = rounded(panel::usable_area(panel), 1);
  json["usable_area_U"] = rounded(panel::usable_area_U(panel), 1);
}

std::string panel_json(const PanelRecord& record) {
  const panel::Panel& panel = record.panel;
  const Vec2 origin = panel_origin(panel);
  Json json = {{"schema", panel_schema}, {"program", "chalkfold"}, {"version", program_version()}, {"unit", "mm"}};
  json["name"] = plain_text(panel.name);
  json["photo"] = plain_text(panel.photo);
  json["side"] = "as photographed";
  json["frame"] = {{"name", "panel"},
                   {"x", "right"},
                   {"y", "up"},
                   {"mirrored", false},
                   {"origin_in_table", {rounded(origin.x(), decimals), rounded(origin.y(), decimals)}}};
  json["tag"] = panel.tag ? Json(*panel.tag) : Json();
  json["thickness"] = rounded(panel.thickness, 3);
  json["thickness_sigma"] = rounded(record.thickness_sigma, 3);
  json["area"] = rounded(panel.area, 1);
  json["perimeter"] = rounded(panel.perimeter, 2);
  json["extent"] = {rounded(panel.extent.x(), 3), rounded(panel.extent.y(), 3)};
  json["edge_sigma"] = rounded(panel.edge_sigma, 4);
  json["U_median"] = rounded(panel.U_median, 4);
  json["U_max"] = rounded(panel.U_max, 4);
  json["px_per_mm"] = rounded(panel.px_per_mm, 4);
  json["outline"] = contour_json(panel.outline, origin);
  json["cutouts"] = Json::array();
  for (const panel::Contour& cutout : panel.cutouts) json["cutouts"].push_back(contour_json(cutout, origin));
  json["marks"] = marks_json(panel.marks, origin, record.crops);
  add_material(json, panel);
  if (panel::is_material(panel)) {
    json["flaws"] = Json::array();
    for (const panel::Flaw& flaw : panel.flaws) json["flaws"].push_back(flaw_json(flaw, origin));
  }
  json["faults"] = faults_json(panel.faults);
  return json.dump() + "\n";
}

}  // namespace chalkfold::output
