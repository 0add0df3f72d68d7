// SPDX-License-Identifier: Apache-2.0
#include "demo/camera/truth.h"

#include <cmath>
#include <nlohmann/json.hpp>
#include <numbers>

#include "calib/sheet_layout.h"

namespace chalkfold::demo {

namespace {

using nlohmann::json;

double rounded(double mm) { return std::round(mm * 1e4) / 1e4 + 0.0; }

json point(const Vec2& p) { return json::array({rounded(p.x()), rounded(p.y())}); }

template <class Points>
json points(const Points& line) {
  json out = json::array();
  for (const Vec2& p : line) out.push_back(point(p));
  return out;
}

json lens_json(const calib::Lens& lens) {
  return {{"f", lens.focal_px},  {"cx", lens.centre_x_px}, {"cy", lens.centre_y_px}, {"k1", lens.k1},
          {"k2", lens.k2},       {"p1", lens.p1},          {"p2", lens.p2},          {"k3", lens.k3},
          {"width", lens.width}, {"height", lens.height}};
}

json camera_json(const Camera& camera) {
  json out = lens_json(upright_lens(camera));
  json rotation = json::array();
  for (int row = 0; row < 3; ++row) {
    rotation.push_back({camera.pose.rotation(row, 0), camera.pose.rotation(row, 1), camera.pose.rotation(row, 2)});
  }
  out["R"] = rotation;
  out["t"] = {camera.pose.translation.x(), camera.pose.translation.y(), camera.pose.translation.z()};
  out["stored_orientation"] = camera.orientation;
  return out;
}

json sheet_json(const SheetOnTable& s, const PrintScale& scale) {
  const geometry::Rigid2 table_from_sheet{s.theta, s.at};
  Polyline corners;
  for (int k = 0; k < sheet::corners_per_sheet; ++k) {
    const Vec2 nominal = sheet::corner(k);
    corners.push_back(table_from_sheet * Vec2(nominal.x() * scale.x, nominal.y() * scale.y));
  }
  return {
      {"n", s.number}, {"x", s.at.x()}, {"y", s.at.y()}, {"theta_rad", s.theta}, {"charuco_corners", points(corners)}};
}

json mark_json(const Mark& m) {
  json out = {{"kind", m.kind}, {"points", points(m.points)}};
  if (m.group) out["group"] = *m.group;
  if (!m.style.empty()) out["style"] = m.style;
  if (m.directed) out["directed"] = *m.directed;
  if (m.width > 0) out["width_mm"] = rounded(m.width);
  if (m.depth > 0) out["depth_mm"] = rounded(m.depth);
  if (m.diameter > 0) out["diameter_mm"] = rounded(m.diameter);
  if (m.height > 0) out["height_mm"] = rounded(m.height);
  if (m.up) out["up_rad"] = rounded(*m.up);
  return out;
}

json panel_json(const LaidPanel& p) {
  json holes = json::array(), rows = json::array(), marks = json::array();
  for (const Polyline& hole : p.holes) holes.push_back(points(hole));
  json row_details = json::array();
  for (const SewnRow& row : p.needle_rows) {
    rows.push_back(points(row.holes));
    row_details.push_back(
        {{"pitch_mm", row.pitch}, {"hole_diameter_mm", row.hole}, {"allowance_mm", rounded(row.allowance)}});
  }
  for (const Mark& m : p.marks) marks.push_back(mark_json(m));
  json out = {{"name", p.name},
              {"tag", p.tag ? json(*p.tag) : json()},
              {"thickness_mm", p.thickness},
              {"symmetric", p.symmetric},
              {"outline", points(p.outline)},
              {"outline_without_notches", points(p.outline_without_notches)},
              {"holes", holes},
              {"design_outline", points(p.design_outline)},
              {"axis", p.axis ? points(*p.axis) : json()},
              {"marks", marks},
              {"needle_rows", rows},
              {"needle_row_details", row_details},
              {"corners", points(p.corners)},
              {"pose",
               {{"x", p.table_from_panel.shift.x()},
                {"y", p.table_from_panel.shift.y()},
                {"theta_rad", p.table_from_panel.angle}}}};
  for (const SlotInPanel& s : p.slots) {
    out["slots"].push_back({{"mouth", point(s.mouth)},
                            {"end", point(s.end)},
                            {"direction", {s.direction.x(), s.direction.y()}},
                            {"width_mm", rounded(s.width)},
                            {"depth_mm", rounded(s.depth)}});
  }
  for (const InnerCorner& c : p.inner_corners)
    out["inner_corners"].push_back({{"at", point(c.at)}, {"angle_rad", rounded(c.angle)}});
  return out;
}

}  // namespace

json truth(const Scene& scene) {
  const calib::Pose& pose = scene.camera.pose;
  json sheets = json::array(), tags = json::array(), panels = json::array();
  for (const SheetOnTable& s : scene.sheets) sheets.push_back(sheet_json(s, scene.print_scale));
  for (const TagOnTable& t : scene.tags)
    tags.push_back({{"m", t.number}, {"x", t.at.x()}, {"y", t.at.y()}, {"theta_rad", t.theta}, {"z", sheet_plane_z}});
  for (const LaidPanel& p : scene.panels) panels.push_back(panel_json(p));
  json out = {{"photo", scene.name + ".jpg"},
              {"camera", camera_json(scene.camera)},
              {"camera_stored_pixels", lens_json(scene.camera.lens)},
              {"tilt_deg", std::acos(std::min(1.0, -pose.rotation(2, 2))) * 180 / std::numbers::pi},
              {"camera_height_mm", pose.centre().z()},
              {"sheets", sheets},
              {"sheet_plane_z", sheet_plane_z},
              {"print_scale", {{"x", scene.print_scale.x}, {"y", scene.print_scale.y}}},
              {"tags", tags},
              {"panels", panels},
              {"blur", scene.sensor.blur_px},
              {"seed", scene.seed}};
  if (!scene.kind.empty()) out["kind"] = scene.kind;
  for (const PaperOnTable& p : scene.papers)
    out["papers"].push_back({{"corners", points(rectangle_on_table(p.at, p.theta, p.size.x(), p.size.y()))}});
  return out;
}

json phone_json(const PhoneOptions& phone) {
  return {{"iso", phone.iso},
          {"blur_px", phone.blur_px},
          {"motion_px", phone.motion_px},
          {"motion_direction_rad", phone.motion_direction},
          {"lateral_colour_px", phone.lateral_colour_px},
          {"denoise", phone.denoise},
          {"local", phone.local},
          {"sharpen", phone.sharpen},
          {"quality", phone.quality}};
}

}  // namespace chalkfold::demo
