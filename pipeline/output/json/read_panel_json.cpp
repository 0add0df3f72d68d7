// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/json/read_panel_json.h"

#include "pipeline/output/json/panel_json.h"
#include "pipeline/output/json/read_fault.h"
#include "pipeline/output/json/read_marks.h"

namespace chalkfold::output {

namespace {
constexpr int tag_max = 99;

panel::Contour contour(const JsonPlace& place, const Vec2& origin) {
  place.only({"points", "sigma", "U"});
  panel::Contour c;
  c.points = place["points"].points(3);
  c.sigma = place["sigma"].numbers(c.points.size());
  c.U = place["U"].numbers(c.points.size());
  for (Vec2& p : c.points) p += origin;
  return c;
}

panel::Flaw flaw_at(const JsonPlace& place, const Vec2& origin) {
  place.only({"centre", "size", "area", "width", "gap", "U", "confidence", "colour", "points"});
  panel::Flaw flaw;
  flaw.ring = place["points"].points(3);
  for (Vec2& p : flaw.ring) p += origin;
  flaw.width = place["width"].not_negative();
  flaw.gap = place["gap"].not_negative();
  flaw.U = place["U"].not_negative();
  flaw.confidence = place["confidence"].not_negative();
  flaw.colour = read_colour(place["colour"]);
  return flaw;
}

/// Of a hide or an offcut; a file of a panel has none of it. The areas are worked out anew.
void read_material(panel::Panel& panel, const JsonPlace& file, const Vec2& origin) {
  if (!file.has("kind")) return;
  panel.kind =
      file["kind"].one_of<panel::PanelKind>({{"hide", panel::PanelKind::hide}, {"offcut", panel::PanelKind::offcut}});
  if (!file["face_up"].is_null()) panel.face_up = file["face_up"].yes_or_no();
  for (const JsonPlace& flaw : file["flaws"].items()) panel.flaws.push_back(flaw_at(flaw, origin));
}

/// Only what a file of this schema can say; returns the origin.
Vec2 read_frame(const JsonPlace& frame) {
  frame.only({"name", "x", "y", "mirrored", "origin_in_table"});
  frame["name"].one_of<bool>({{"panel", true}});
  frame["x"].one_of<bool>({{"right", true}});
  frame["y"].one_of<bool>({{"up", true}});
  if (frame["mirrored"].yes_or_no()) frame["mirrored"].fail("false: a measured panel is never mirrored");
  return frame["origin_in_table"].point();
}

void check_heading(const JsonPlace& file) {
  if (file["schema"].text() != panel_schema) file["schema"].fail(std::string("\"") + panel_schema + "\"");
  file.only({"schema",          "program", "version",   "unit",    "name",
             "photo",           "side",    "frame",     "tag",     "thickness",
             "thickness_sigma", "area",    "perimeter", "extent",  "edge_sigma",
             "U_median",        "U_max",   "px_per_mm", "outline", "cutouts",
             "marks",           "faults",  "kind",      "face_up", "usable_area",
             "usable_area_U",   "flaws"});
  file["program"].one_of<bool>({{"chalkfold", true}});
  file["version"].text();
  file["unit"].one_of<bool>({{"mm", true}});
  file["side"].one_of<bool>({{"as photographed", true}});
}

void read_numbers(PanelRecord& record, const JsonPlace& file) {
  panel::Panel& panel = record.panel;
  if (!file["tag"].is_null()) panel.tag = file["tag"].integer(1, tag_max);
  panel.thickness = file["thickness"].not_negative();
  record.thickness_sigma = file["thickness_sigma"].not_negative();
  panel.area = file["area"].not_negative();
  panel.perimeter = file["perimeter"].not_negative();
  panel.extent = file["extent"].point();
  panel.edge_sigma = file["edge_sigma"].not_negative();
  panel.U_median = file["U_median"].not_negative();
  panel.U_max = file["U_max"].not_negative();
  panel.px_per_mm = file["px_per_mm"].not_negative();
}
}  // namespace

PanelRecord read_panel_json(std::string_view bytes, const std::string& where) {
  const nlohmann::json json = parsed_json(bytes, where);
  const JsonPlace file(json, where);
  check_heading(file);
  PanelRecord record;
  panel::Panel& panel = record.panel;
  panel.name = file["name"].text();
  panel.photo = file["photo"].text();
  const Vec2 origin = read_frame(file["frame"]);
  read_numbers(record, file);
  panel.outline = contour(file["outline"], origin);
  for (const JsonPlace& cutout : file["cutouts"].items()) panel.cutouts.push_back(contour(cutout, origin));
  panel.marks = read_marks(file["marks"], origin, panel.outline.points.size(), record.crops);
  read_material(panel, file, origin);
  panel.faults = read_faults(file["faults"]);
  return record;
}

}  // namespace chalkfold::output
