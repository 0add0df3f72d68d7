// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "pipeline/geometry/point.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/panel/panel.h"

namespace chalkfold::output {

/// Layers of an exchange drawing, numbered by ASTM D6673.
enum class Layer {
  boundary = 1,
  turn_points = 2,
  curve_points = 3,
  /// notches and match marks
  marks = 4,
  mirror = 6,
  grain = 7,
  internal = 8,
  cutouts = 11,
  holes = 13,
  sew = 14,
  text = 15
};

/// What a layer holds, in words: "piece boundary".
std::string layer_title(Layer layer);

/// What the exchange files (DXF, SVG) draw, before it is written in either: mm, y up, origin at the lower left of the
/// boundary's box.
struct Drawing {
  struct Line {
    Layer layer = Layer::boundary;
    Polyline points;
    bool closed = true;
  };
  struct Text {
    /// left end of the baseline
    Vec2 at = Vec2::Zero();
    /// mm, of capitals
    double height = 5;
    std::string words;
    /// rad, of the baseline
    double angle = 0;
    /// factor on the letters' width, where a reader of the file has letters of its own
    double width = 1;
  };
  struct Spot {
    Layer layer = Layer::holes;
    Vec2 at = Vec2::Zero();
    /// mm, as SVG shows it; DXF has a POINT
    double radius = 0.5;
  };
  std::string name;
  std::vector<Line> lines;
  std::vector<Spot> spots;
  /// all on Layer::text
  std::vector<Text> texts;
  /// for programs that read the file, not drawn: SVG has them in its description
  std::vector<std::string> remarks;
  /// of the boundary
  geometry::Box box;
};

/// `panel` frame: the table frame shifted, never turned or mirrored, so that the outline's box has its lower left
/// corner at (0, 0). table = panel + panel_origin(panel). Throws std::logic_error for an outline of fewer than three
/// points.
Vec2 panel_origin(const panel::Panel& panel);

/// A contour's points in the `panel` frame.
Polyline in_panel_frame(const Polyline& points_in_table, const Vec2& origin);

/// A panel as it lies: boundary, cut-outs, its marks (notches and match marks from the outline inward, grain line from tail to head, boxes around
/// writing as internal lines) and what to know about it in text (name, unit, side, thickness, U). The flaws of a hide or an offcut are cut-outs too, with their
/// numbers in text; a cut-out within a flaw is an internal line then.
Drawing drawing_of(const panel::Panel& panel);

/// A coordinate as every output writes it: mm with 4 decimals, without a minus before zero.
std::string mm_text(double mm);

}  // namespace chalkfold::output
