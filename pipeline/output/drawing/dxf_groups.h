// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "pipeline/output/drawing/drawing.h"

namespace chalkfold::output {

/// A DXF file of release 12 (AC1009) under construction: pairs of lines, a group code and its value, ended by CR LF. Only
/// what release 12 knows; mm with 4 decimals. The writers add one structure each; the caller keeps the order of sections:
/// begin_dxf, blocks, begin_dxf_entities, entities, finish_dxf.
class DxfGroups {
 public:
  void add(int code, std::string_view value);
  void add(int code, int value) { add(code, std::to_string(value)); }
  /// x at `code`, y at code + 10, z = 0 at code + 20
  void point(int code, const Vec2& p);
  std::string take() { return std::move(text_); }

 private:
  std::string text_;
};

struct DxfLayer {
  std::string name;
  /// DXF's number: 1 red, 7 white (black on paper)
  int colour = 7;
};

/// HEADER with $INSUNITS 4 and $MEASUREMENT 1 (which release 12 did not know) and the extents, TABLES with one line type,
/// the layers and one text style, and the begin of BLOCKS.
void begin_dxf(DxfGroups& out, const geometry::Box& extents, const std::vector<DxfLayer>& layers);
void begin_dxf_entities(DxfGroups& out);
std::string finish_dxf(DxfGroups& out);

/// A block's entities come between these two. Names as dxf_block_name gives them.
void begin_dxf_block(DxfGroups& out, std::string_view name);
void end_dxf_block(DxfGroups& out);
void add_dxf_insert(DxfGroups& out, std::string_view block, const Vec2& at);

/// Release 12 takes up to 31 capitals, digits, '$', '-' and '_': anything else becomes '_'. Never empty.
std::string dxf_block_name(std::string_view words);

/// `bulges`: tan(turn / 4) of the arc from each vertex to the next, 0 for a line; empty: lines only.
void add_dxf_polyline(DxfGroups& out, std::string_view layer, const Polyline& points, bool closed,
                      const std::vector<double>& bulges = {});
void add_dxf_point(DxfGroups& out, std::string_view layer, const Vec2& at);
void add_dxf_circle(DxfGroups& out, std::string_view layer, const Vec2& centre, double radius);
void add_dxf_text(DxfGroups& out, std::string_view layer, const Drawing::Text& text);

/// Exchange layers that the drawings use, and one drawing's lines, spots and texts on them.
std::vector<DxfLayer> exchange_layers(const std::vector<Drawing>& drawings);
void add_dxf_drawing(DxfGroups& out, const Drawing& drawing);

}  // namespace chalkfold::output
