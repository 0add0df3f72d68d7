// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/drawing/dxf_groups.h"

#include <fmt/format.h>

#include <numbers>
#include <set>

#include "pipeline/output/drawing/escape.h"

namespace chalkfold::output {

namespace {
constexpr std::size_t block_name_max = 31;  // of release 12

std::string layer_name(Layer layer) { return std::to_string(static_cast<int>(layer)); }

void begin_section(DxfGroups& out, std::string_view name) {
  out.add(0, "SECTION");
  out.add(2, name);
}

void begin_table(DxfGroups& out, std::string_view name, int entries) {
  out.add(0, "TABLE");
  out.add(2, name);
  out.add(70, entries);
}

void add_header(DxfGroups& out, const geometry::Box& box) {
  begin_section(out, "HEADER");
  out.add(9, "$ACADVER");
  out.add(1, "AC1009");
  out.add(9, "$DWGCODEPAGE");
  out.add(3, "ANSI_1252");
  out.add(9, "$INSUNITS");
  out.add(70, 4);
  out.add(9, "$MEASUREMENT");
  out.add(70, 1);
  out.add(9, "$EXTMIN");
  out.point(10, box.min);
  out.add(9, "$EXTMAX");
  out.point(10, box.max);
  out.add(0, "ENDSEC");
}

void add_layer(DxfGroups& out, std::string_view name, int colour) {
  out.add(0, "LAYER");
  out.add(2, name);
  out.add(70, 0);
  out.add(62, colour);
  out.add(6, "CONTINUOUS");
}

/// Colours apart on a screen, in DXF's numbers: the lines that a cutter follows white and red, what is drawn in other colours.
int colour_of(Layer layer) {
  switch (layer) {
    case Layer::boundary:
      return 7;
    case Layer::cutouts:
    case Layer::holes:
      return 1;
    case Layer::marks:
      return 2;
    case Layer::mirror:
    case Layer::grain:
      return 4;
    case Layer::sew:
      return 6;
    default:
      return 3;
  }
}

void add_line_types(DxfGroups& out) {
  begin_table(out, "LTYPE", 1);
  out.add(0, "LTYPE");
  out.add(2, "CONTINUOUS");
  out.add(70, 0);
  out.add(3, "Solid line");
  out.add(72, 65);
  out.add(73, 0);
  out.add(40, "0.0");
  out.add(0, "ENDTAB");
}

void add_layers(DxfGroups& out, const std::vector<DxfLayer>& layers) {
  begin_table(out, "LAYER", static_cast<int>(layers.size()) + 1);
  add_layer(out, "0", 7);
  for (const DxfLayer& layer : layers) add_layer(out, layer.name, layer.colour);
  out.add(0, "ENDTAB");
}

void add_text_style(DxfGroups& out) {
  begin_table(out, "STYLE", 1);
  out.add(0, "STYLE");
  out.add(2, "STANDARD");
  out.add(70, 0);
  out.add(40, "0.0");
  out.add(41, "1.0");
  out.add(50, "0.0");
  out.add(71, 0);
  out.add(42, "5.0");
  out.add(3, "txt");
  out.add(4, "");
  out.add(0, "ENDTAB");
}
}  // namespace

void DxfGroups::add(int code, std::string_view value) { text_ += fmt::format("{:>3}\r\n{}\r\n", code, value); }

void DxfGroups::point(int code, const Vec2& p) {
  add(code, mm_text(p.x()));
  add(code + 10, mm_text(p.y()));
  add(code + 20, mm_text(0));
}

void begin_dxf(DxfGroups& out, const geometry::Box& extents, const std::vector<DxfLayer>& layers) {
  add_header(out, extents);
  begin_section(out, "TABLES");
  add_line_types(out);
  add_layers(out, layers);
  add_text_style(out);
  out.add(0, "ENDSEC");
  begin_section(out, "BLOCKS");
}

void begin_dxf_entities(DxfGroups& out) {
  out.add(0, "ENDSEC");
  begin_section(out, "ENTITIES");
}

std::string finish_dxf(DxfGroups& out) {
  out.add(0, "ENDSEC");
  out.add(0, "EOF");
  return out.take();
}

void begin_dxf_block(DxfGroups& out, std::string_view name) {
  out.add(0, "BLOCK");
  out.add(8, "0");
  out.add(2, name);
  out.add(70, 0);
  out.point(10, Vec2::Zero());
  out.add(3, name);
}

void end_dxf_block(DxfGroups& out) {
  out.add(0, "ENDBLK");
  out.add(8, "0");
}

void add_dxf_insert(DxfGroups& out, std::string_view block, const Vec2& at) {
  out.add(0, "INSERT");
  out.add(8, "0");
  out.add(2, block);
  out.point(10, at);
}

std::string dxf_block_name(std::string_view words) {
  std::string name;
  for (char c : words.substr(0, block_name_max)) {
    if (c >= 'a' && c <= 'z') c = static_cast<char>(c - 'a' + 'A');
    const bool allowed = (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '$' || c == '-' || c == '_';
    name += allowed ? c : '_';
  }
  return name.empty() ? "PIECE" : name;
}

void add_dxf_polyline(DxfGroups& out, std::string_view layer, const Polyline& points, bool closed,
                      const std::vector<double>& bulges) {
  out.add(0, "POLYLINE");
  out.add(8, layer);
  out.add(66, 1);
  out.point(10, Vec2::Zero());
  out.add(70, closed ? 1 : 0);
  for (std::size_t i = 0; i < points.size(); ++i) {
    out.add(0, "VERTEX");
    out.add(8, layer);
    out.point(10, points[i]);
    if (i < bulges.size() && bulges[i] != 0) out.add(42, fmt::format("{:.12f}", bulges[i]));
  }
  out.add(0, "SEQEND");
  out.add(8, layer);
}

void add_dxf_point(DxfGroups& out, std::string_view layer, const Vec2& at) {
  out.add(0, "POINT");
  out.add(8, layer);
  out.point(10, at);
}

void add_dxf_circle(DxfGroups& out, std::string_view layer, const Vec2& centre, double radius) {
  out.add(0, "CIRCLE");
  out.add(8, layer);
  out.point(10, centre);
  out.add(40, mm_text(radius));
}

void add_dxf_text(DxfGroups& out, std::string_view layer, const Drawing::Text& text) {
  out.add(0, "TEXT");
  out.add(8, layer);
  out.point(10, text.at);
  out.add(40, mm_text(text.height));
  out.add(1, dxf_text(text.words));
  if (text.width != 1) out.add(41, mm_text(text.width));
  if (text.angle != 0) out.add(50, fmt::format("{:.6f}", text.angle * 180 / std::numbers::pi));
}

std::vector<DxfLayer> exchange_layers(const std::vector<Drawing>& drawings) {
  std::set<Layer> layers;
  for (const Drawing& drawing : drawings) {
    for (const Drawing::Line& line : drawing.lines) layers.insert(line.layer);
    for (const Drawing::Spot& spot : drawing.spots) layers.insert(spot.layer);
    if (!drawing.texts.empty()) layers.insert(Layer::text);
  }
  std::vector<DxfLayer> named;
  named.reserve(layers.size());
  for (const Layer layer : layers) named.push_back({layer_name(layer), colour_of(layer)});
  return named;
}

void add_dxf_drawing(DxfGroups& out, const Drawing& drawing) {
  for (const Drawing::Line& line : drawing.lines)
    add_dxf_polyline(out, layer_name(line.layer), line.points, line.closed);
  for (const Drawing::Spot& spot : drawing.spots) add_dxf_point(out, layer_name(spot.layer), spot.at);
  for (const Drawing::Text& text : drawing.texts) add_dxf_text(out, layer_name(Layer::text), text);
}

}  // namespace chalkfold::output
