// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/json/results.h"

#include "pipeline/common/utf8.h"
#include "pipeline/common/version.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/output/json/compare_json.h"
#include "pipeline/output/json/json_values.h"
#include "pipeline/output/json/marks_json.h"
#include "pipeline/output/json/material_json.h"
#include "pipeline/output/json/panel_json.h"
#include "pipeline/output/json/set_json.h"
#include "pipeline/output/json/sewing_json.h"

namespace chalkfold::output {

namespace {
using Json = nlohmann::ordered_json;

Json sheet_json(const SheetRecord& sheet) {
  return {{"number", sheet.number},
          {"corners_used", sheet.corners_used},
          {"corners_dropped", sheet.corners_dropped},
          {"corners_outside", sheet.corners_outside},
          {"blur_px", rounded(sheet.blur_px, 3)},
          {"square_px", rounded(sheet.square_px, 2)}};
}

Json camera_json(const CameraRecord& camera) {
  return {{"lens", camera.lens},
          {"setup", camera.setup},
          {"corners_used", camera.corners_used},
          {"corners_dropped", camera.corners_dropped},
          {"reprojection_rms_px", rounded(camera.reprojection_rms_px, 4)},
          {"tilt_deg", rounded(camera.tilt_deg, 2)},
          {"height", rounded(camera.height, 1)},
          {"mm_per_px", rounded(camera.mm_per_px, 4)}};
}

Json photo_json(const PhotoRecord& photo) {
  Json json = {{"name", plain_text(photo.name)},
               {"sha256", photo.sha256},
               {"width", photo.width},
               {"height", photo.height},
               {"intact", rounded(photo.intact, 4)}};
  json["exif"] = {{"make", plain_text(photo.make)},
                  {"model", plain_text(photo.model)},
                  {"focal_mm", rounded(photo.focal_mm, 3)},
                  {"focal_35mm", rounded(photo.focal_35mm, 3)},
                  {"digital_zoom", rounded(photo.digital_zoom, 3)},
                  {"orientation", photo.orientation}};
  json["sheets"] = Json::array();
  for (const SheetRecord& sheet : photo.sheets) json["sheets"].push_back(sheet_json(sheet));
  json["tags"] = photo.tags;
  json["camera"] = photo.camera ? camera_json(*photo.camera) : Json();
  json["panels"] = photo.panels;
  json["faults"] = faults_json(photo.faults);
  return json;
}

Json lens_json(const calib::Lens& lens) {
  return {{"width", lens.width},
          {"height", lens.height},
          {"focal_px", rounded(lens.focal_px, 3)},
          {"centre_x_px", rounded(lens.centre_x_px, 3)},
          {"centre_y_px", rounded(lens.centre_y_px, 3)},
          {"k1", rounded(lens.k1, 8)},
          {"k2", rounded(lens.k2, 8)},
          {"p1", rounded(lens.p1, 8)},
          {"p2", rounded(lens.p2, 8)},
          {"k3", rounded(lens.k3, 8)}};
}

Json panel_summary(const PanelRecord& record) {
  const panel::Panel& panel = record.panel;
  Json json = {{"name", plain_text(panel.name)}, {"photo", plain_text(panel.photo)}, {"measured", is_measured(record)}};
  json["tag"] = panel.tag ? Json(*panel.tag) : Json();
  json["thickness"] = rounded(panel.thickness, 3);
  if (!record.photos.empty()) {
    json["photos"] = Json::array();
    for (const std::string& photo : record.photos) json["photos"].push_back(plain_text(photo));
  }
  json["thickness_sigma"] = rounded(record.thickness_sigma, 3);
  json["area"] = rounded(panel.area, 1);
  json["perimeter"] = rounded(panel.perimeter, 2);
  json["extent"] = {rounded(panel.extent.x(), 3), rounded(panel.extent.y(), 3)};
  json["outline_points"] = panel.outline.points.size();
  json["cutouts"] = panel.cutouts.size();
  json["marks"] = mark_counts_json(panel.marks);
  json["edge_sigma"] = rounded(panel.edge_sigma, 4);
  json["U_median"] = rounded(panel.U_median, 4);
  json["U_max"] = rounded(panel.U_max, 4);
  json["px_per_mm"] = rounded(panel.px_per_mm, 4);
  add_material(json, panel);
  if (panel::is_material(panel)) {
    json["flaws"] = Json::array();
    const Vec2 origin = geometry::bounding_box(panel.outline.points).min;
    for (const panel::Flaw& flaw : panel.flaws) json["flaws"].push_back(flaw_figures_json(flaw, origin));
  }
  json["files"] = record.files;
  json["picture"] = record.picture.empty() ? Json() : Json(record.picture);
  if (record.change) {
    json["dimensional_change"] = change_figures_json(*record.change);
    json["dimensional_change"]["picture"] = record.change_picture.empty() ? Json() : Json(record.change_picture);
  }
  json["faults"] = faults_json(panel.faults);
  return json;
}

Json edge_json(const draft::PieceEdge& edge) {
  return {{"number", edge.number},       {"length", rounded(geometry::length(edge.sew), 3)},
          {"U", rounded(edge.U, 3)},     {"allowance", rounded(edge.allowance, 3)},
          {"segments", edge.sew.size()}, {"largest_departure", rounded(edge.largest_departure, 3)}};
}

Json change_json(const draft::ShapeChange& change) {
  return {{"done", change.done},
          {"rms", rounded(change.rms, 3)},
          {"largest", rounded(change.largest, 3)},
          {"reason", plain_text(change.reason)}};
}

Json piece_summary(const PieceRecord& record) {
  const draft::Piece& piece = record.piece;
  Json json = {{"name", plain_text(piece.name)},
               {"number", piece.number},
               {"quantity", piece.quantity},
               {"one_mirrored", piece.one_mirrored},
               {"side", piece.side == draft::Side::inside ? "inside" : "face"},
               {"drafted", !has_refusal(piece.faults)}};
  json["net_area"] = rounded(piece.sew_line.size() < 3 ? 0 : geometry::signed_area(piece.sew_line), 1);
  json["cut_area"] = rounded(piece.cut_line.size() < 3 ? 0 : geometry::signed_area(piece.cut_line), 1);
  json["edges"] = Json::array();
  for (const draft::PieceEdge& edge : piece.edges) json["edges"].push_back(edge_json(edge));
  json["marks"] = piece.marks.size();
  json["symmetry"] = change_json(piece.symmetry);
  json["pairing"] = change_json(piece.pairing);
  json["files"] = record.files;
  json["change_picture"] = record.change_picture.empty() ? Json() : Json(record.change_picture);
  json["faults"] = faults_json(piece.faults);
  return json;
}
}  // namespace

std::string results_json(const Results& results) {
  Json json = {{"schema", results_schema}, {"program", "chalkfold"}, {"version", program_version()}, {"unit", "mm"}};
  json["exit"] = results.exit;
  json["options"] = results.options;
  json["photos"] = Json::array();
  for (const PhotoRecord& photo : results.photos) json["photos"].push_back(photo_json(photo));
  json["lenses"] = Json::array();
  for (const calib::Lens& lens : results.lenses) json["lenses"].push_back(lens_json(lens));
  json["print_scale"] = {{"x", rounded(results.print_scale_x, 6)},
                         {"y", rounded(results.print_scale_y, 6)},
                         {"sigma", rounded(results.print_scale_sigma, 6)}};
  json["reprojection_rms_px"] = rounded(results.reprojection_rms_px, 4);
  json["panels"] = Json::array();
  for (const PanelRecord& record : results.panels) json["panels"].push_back(panel_summary(record));
  json["pieces"] = Json::array();
  for (const PieceRecord& record : results.pieces) json["pieces"].push_back(piece_summary(record));
  json["set_files"] = results.set_files;
  json["material"] = material_json(results);
  json["sewing"] = sewing_json(results);
  if (results.set) add_set(json, *results.set);
  json["faults"] = faults_json(results.faults);
  return json.dump(2) + "\n";
}

}  // namespace chalkfold::output
