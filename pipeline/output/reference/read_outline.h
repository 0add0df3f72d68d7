// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "pipeline/geometry/point.h"

namespace chalkfold::output {

/// A closed outline out of somebody else's drawing: mm, y up, never mirrored.
struct ForeignOutline {
  /// curves flattened to 0.01 mm
  Polyline outline;
  /// what had to be assumed, or empty: a unit that the file does not give
  std::string remark;
};

/// The outline in an ASCII DXF file of any release: POLYLINE and LWPOLYLINE with bulges, CIRCLE, and LINE, ARC and open polylines joined
/// end to end, also inside inserted blocks. On layer 1 (ASTM D6673: piece boundary) the largest, if there is any; otherwise the largest
/// of all. Unit by $INSUNITS, or by $MEASUREMENT. `where` names the file in messages. Throws FileError that says what to do: binary or cut short,
/// no closed outline, curves of another kind on the way, a strange unit.
ForeignOutline read_dxf_outline(std::string_view bytes, const std::string& where);

/// The outline in an SVG file whose width and height are given in a unit of length: paths and basic shapes with their transforms; the
/// largest closed one in the group with id "layer-1", if there is any, otherwise the largest of all. y is turned up by
/// y_down_from_y_up. Reading by the libraries libxml2 and SVG++. Throws FileError as above.
ForeignOutline read_svg_outline(std::string_view bytes, const std::string& where);

/// A line of a drawing, from whichever format, before one is taken for the outline.
struct FileLine {
  Polyline points;
  bool closed = false;
  /// on layer 1
  bool boundary = false;
};

/// Open lines joined end to end where their ends lie within `reach` mm, the closest first, then the largest closed line: of the
/// boundary's, or of all. Empty when there is none.
Polyline largest_closed(std::vector<FileLine> lines, double reach);

}  // namespace chalkfold::output
