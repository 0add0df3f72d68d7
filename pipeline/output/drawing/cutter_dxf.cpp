// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/drawing/cutter_dxf.h"

#include <cmath>
#include <numbers>

#include "pipeline/common/check_option.h"
#include "pipeline/output/drawing/dxf_groups.h"
#include "pipeline/output/drawing/piece_drawing.h"

namespace chalkfold::output {

namespace {
constexpr std::string_view cut_layer = "cut", draw_layer = "draw";
constexpr double bulge_turn_max = std::numbers::pi;  // rad a vertex: some readers take no more than half a circle

struct BulgeLine {
  Polyline points;
  std::vector<double> bulges;
};

/// The closed curve's segments from vertex to vertex. Cubics, which a cut line has none of, are flattened.
BulgeLine bulge_line(const geometry::Curve& curve, const CutterOptions& options) {
  BulgeLine line;
  for (const geometry::CurveSegment& segment : curve) {
    if (segment.kind == geometry::CurveSegment::Kind::arc && options.arcs) {
      const double turned = segment.turned();
      const int parts = std::max(1, static_cast<int>(std::ceil(std::abs(turned) / bulge_turn_max - 1e-9)));
      for (int i = 0; i < parts; ++i) {
        line.points.push_back(segment.at(static_cast<double>(i) / parts));
        line.bulges.push_back(std::tan(turned / parts / 4));
      }
      continue;
    }
    const Polyline points = geometry::flattened({segment}, options.arc_tolerance);
    line.points.insert(line.points.end(), points.begin(), points.end() - 1);
    line.bulges.resize(line.points.size(), 0);
  }
  return line;
}
}  // namespace

void check(const CutterOptions& o) { check_option("tolerance of the cutter's arcs, mm,", o.arc_tolerance, 1e-4, 10); }

std::string cutter_dxf(const draft::Piece& given, const CutterOptions& options) {
  check(options);
  const draft::Piece piece = shown_piece(given, options.face);
  const Vec2 origin = piece_origin(piece);
  // Everything but the cut line itself and the notches is what the exchange drawing has.
  const Drawing drawing = with_lettering(drawing_of(piece, {false, options.sew_line}));
  DxfGroups out;
  begin_dxf(out, drawing.box, {{std::string(cut_layer), 7}, {std::string(draw_layer), 4}});
  begin_dxf_entities(out);
  const BulgeLine line = bulge_line(piece.cut, options);
  add_dxf_polyline(out, cut_layer, in_panel_frame(line.points, origin), true, line.bulges);
  for (const draft::PieceMark& mark : piece.marks) {
    const std::string_view layer = mark.kind == draft::PieceMark::Kind::notch ? cut_layer : draw_layer;
    add_dxf_polyline(out, layer, in_panel_frame(mark_course(piece, mark), origin), false);
  }
  for (const Drawing::Line& other : drawing.lines) {
    if (other.layer == Layer::boundary || other.layer == Layer::marks) continue;
    add_dxf_polyline(out, other.layer == Layer::cutouts ? cut_layer : draw_layer, other.points, other.closed);
  }
  for (const Polyline& head : grain_heads(piece))
    add_dxf_polyline(out, draw_layer, in_panel_frame(head, origin), false);
  for (const Drawing::Spot& spot : drawing.spots) {
    if (spot.layer == Layer::holes) add_dxf_circle(out, cut_layer, spot.at, spot.radius);
  }
  return finish_dxf(out);
}

}  // namespace chalkfold::output
