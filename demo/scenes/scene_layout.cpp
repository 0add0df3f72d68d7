// SPDX-License-Identifier: Apache-2.0
#include "demo/scenes/scene_layout.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "calib/sheet_layout.h"
#include "demo/design/tool_shapes.h"

namespace chalkfold::demo {

namespace {
constexpr double full_width = 4032, full_height = 3024;
constexpr double degree = std::numbers::pi / 180;

/// Every n-th point, so that distances between finely drawn outlines stay cheap.
Polyline thinned(const Polyline& line, std::size_t keep) {
  const std::size_t step = std::max<std::size_t>(1, line.size() / keep);
  Polyline out;
  for (std::size_t i = 0; i < line.size(); i += step) out.push_back(line[i]);
  return out;
}

bool borders_cross(const Polyline& a, const Polyline& b) {
  const auto side = [](const Vec2& from, const Vec2& to, const Vec2& p) {
    return (to.x() - from.x()) * (p.y() - from.y()) - (to.y() - from.y()) * (p.x() - from.x()) > 0;
  };
  for (std::size_t i = 0; i < a.size(); ++i) {
    const Vec2 &p = a[i], &q = a[(i + 1) % a.size()];
    for (std::size_t k = 0; k < b.size(); ++k) {
      const Vec2 &r = b[k], &s = b[(k + 1) % b.size()];
      if (side(p, q, r) != side(p, q, s) && side(r, s, p) != side(r, s, q)) return true;
    }
  }
  return false;
}

Polyline tool_border(const Tool& tool) {
  if (tool.kind == ToolKind::steel_rule || tool.kind == ToolKind::chalk_stick)
    return tool_parts(tool).front().rings.front();
  const double r = tool_radius(tool.kind);
  if (tool.kind == ToolKind::scissors) return rectangle_on_table(tool.at, tool.theta, 2 * r, 110);
  return rectangle_on_table(tool.at, tool.theta, 2 * r, 2 * r);
}
}  // namespace

calib::Lens phone_lens(int width_px) {
  const double k = width_px / full_width;
  calib::Lens lens;
  lens.width = width_px;
  lens.height = static_cast<int>(std::lround(full_height * k));
  lens.focal_px = 3034 * k;
  lens.centre_x_px = 2021.5 * k;
  lens.centre_y_px = 1516.0 * k;
  lens.k1 = 0.078, lens.k2 = -0.162, lens.k3 = 0.02;
  lens.p1 = 0.0003, lens.p2 = -0.0004;
  return lens;
}

double focal_35mm(const calib::Lens& lens) {
  constexpr double full_frame_diagonal = 43.2666;  // mm
  return lens.focal_px * full_frame_diagonal / std::hypot(lens.width, lens.height);
}

calib::Lens for_one_photo(const calib::Lens& phone, double focal_change, const Vec2& centre_shift_px) {
  calib::Lens lens = phone;
  lens.focal_px *= 1 + focal_change;
  lens.centre_x_px += centre_shift_px.x() * phone.width / full_width;
  lens.centre_y_px += centre_shift_px.y() * phone.width / full_width;
  return lens;
}

calib::Pose pose_at(const CameraPlace& place) {
  const double tilt = place.tilt_deg * degree, lean = place.lean_deg * degree, turn = place.turn_deg * degree;
  const Vec3 forward(std::sin(tilt) * std::cos(lean), std::sin(tilt) * std::sin(lean), -std::cos(tilt));
  const Vec3 right = forward.cross(Vec3(std::cos(turn), std::sin(turn), 0)).normalized();
  const Vec3 down = forward.cross(right);
  const Vec3 eye = Vec3(place.aim.x(), place.aim.y(), 0) - forward * (place.height / std::cos(tilt));
  calib::Pose pose;
  pose.rotation.row(0) = right;
  pose.rotation.row(1) = down;
  pose.rotation.row(2) = forward;
  pose.translation = -pose.rotation * eye;
  return pose;
}

std::vector<Thing> things(const Scene& scene) {
  std::vector<Thing> out;
  for (const SheetOnTable& s : scene.sheets) {
    out.push_back({"sheet " + std::to_string(s.number), rectangle_on_table(s.at, s.theta, paper_width, paper_height),
                   Thing::Kind::sheet});
  }
  for (const TagOnTable& t : scene.tags) {
    out.push_back({"tag " + std::to_string(t.number),
                   rectangle_on_table(t.at, t.theta, sheet::tag_card, sheet::tag_card), Thing::Kind::tag});
  }
  for (const PaperOnTable& p : scene.papers)
    out.push_back({"paper", rectangle_on_table(p.at, p.theta, p.size.x(), p.size.y()), Thing::Kind::paper});
  for (const LaidPanel& p : scene.panels) out.push_back({p.name, p.outline, Thing::Kind::panel});
  for (const Tool& t : scene.tools) out.push_back({"tool", tool_border(t), Thing::Kind::tool});
  return out;
}

bool inside_photo(const Camera& camera, const Polyline& border, double height, double margin_px) {
  const calib::Lens lens = upright_lens(camera);
  return std::all_of(border.begin(), border.end(), [&](const Vec2& p) {
    const Vec3 at(p.x(), p.y(), height);
    if ((camera.pose.rotation * at + camera.pose.translation).z() <= 0) return false;
    const Vec2 px = calib::photo_from_table(lens, camera.pose, at);
    return px.x() >= margin_px && px.y() >= margin_px && px.x() <= lens.width - 1 - margin_px &&
           px.y() <= lens.height - 1 - margin_px;
  });
}

double gap_between(const Polyline& a, const Polyline& b) {
  const geometry::Box box_a = geometry::bounding_box(a), box_b = geometry::bounding_box(b);
  const Vec2 apart = (box_a.min - box_b.max).cwiseMax(box_b.min - box_a.max);
  constexpr double far = 60;  // mm: boxes this far apart need no closer look
  if (apart.maxCoeff() > far) return apart.maxCoeff();
  const Polyline ta = thinned(a, 300), tb = thinned(b, 300);
  if (geometry::contains(ta, tb.front()) || geometry::contains(tb, ta.front())) return 0;  // one inside the other
  if (apart.maxCoeff() <= 0 && borders_cross(ta, tb)) return 0;
  double best = 1e9;
  for (const Vec2& p : ta) best = std::min(best, geometry::distance_to(tb, p, true));
  for (const Vec2& p : tb) best = std::min(best, geometry::distance_to(ta, p, true));
  return best;
}

std::vector<std::string> layout_problems(const Scene& scene, double frame_margin_px, double gap) {
  std::vector<std::string> out;
  const std::vector<Thing> all = things(scene);
  const double margin = frame_margin_px * std::max(scene.camera.lens.width, scene.camera.lens.height) / full_width;
  for (std::size_t i = 0; i < all.size(); ++i) {
    if (all[i].kind != Thing::Kind::tool && !inside_photo(scene.camera, all[i].border, 0, margin)) {
      out.push_back(all[i].name + " reaches the frame");
    }
    for (std::size_t k = i + 1; k < all.size(); ++k) {
      if (gap_between(all[i].border, all[k].border) < gap) out.push_back(all[i].name + " touches " + all[k].name);
    }
  }
  return out;
}

}  // namespace chalkfold::demo
