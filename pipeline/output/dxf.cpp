// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/dxf.h"

#include <fmt/format.h>

#include <set>
#include <string_view>

#include "pipeline/output/escape.h"

namespace chalkfold {

namespace {
/// A DXF file is pairs of lines: a group code and its value.
class Groups {
 public:
  void add(int code, std::string_view value) { text_ += fmt::format("{:>3}\r\n{}\r\n", code, value); }
  void add(int code, int value) { add(code, std::to_string(value)); }
  void point(int code, const Vec2& p) {
    add(code, mm_text(p.x()));
    add(code + 10, mm_text(p.y()));
    add(code + 20, mm_text(0));
  }
  std::string take() { return std::move(text_); }

 private:
  std::string text_;
};

std::string layer_name(Layer layer) { return std::to_string(static_cast<int>(layer)); }

void begin_section(Groups& out, std::string_view name) {
  out.add(0, "SECTION");
  out.add(2, name);
}

void begin_table(Groups& out, std::string_view name, int entries) {
  out.add(0, "TABLE");
  out.add(2, name);
  out.add(70, entries);
}

void add_header(Groups& out, const Box& box) {
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

void add_layer(Groups& out, std::string_view name, int colour) {
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

void add_line_types(Groups& out) {
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

void add_layers(Groups& out, const std::set<Layer>& layers) {
  begin_table(out, "LAYER", static_cast<int>(layers.size()) + 1);
  add_layer(out, "0", 7);
  for (const Layer layer : layers) {
    add_layer(out, layer_name(layer), colour_of(layer));
  }
  out.add(0, "ENDTAB");
}

void add_text_style(Groups& out) {
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

void add_polyline(Groups& out, const Drawing::Line& line) {
  const std::string layer = layer_name(line.layer);
  out.add(0, "POLYLINE");
  out.add(8, layer);
  out.add(66, 1);
  out.point(10, Vec2::Zero());
  out.add(70, line.closed ? 1 : 0);
  for (const Vec2& p : line.points) {
    out.add(0, "VERTEX");
    out.add(8, layer);
    out.point(10, p);
  }
  out.add(0, "SEQEND");
  out.add(8, layer);
}

void add_point(Groups& out, const Drawing::Spot& spot) {
  out.add(0, "POINT");
  out.add(8, layer_name(spot.layer));
  out.point(10, spot.at);
}

void add_text(Groups& out, const Drawing::Text& text) {
  out.add(0, "TEXT");
  out.add(8, layer_name(Layer::text));
  out.point(10, text.at);
  out.add(40, mm_text(text.height));
  out.add(1, dxf_text(text.words));
}
}  // namespace

std::string dxf_of(const Drawing& drawing) {
  std::set<Layer> layers;
  for (const Drawing::Line& line : drawing.lines) layers.insert(line.layer);
  for (const Drawing::Spot& spot : drawing.spots) layers.insert(spot.layer);
  if (!drawing.texts.empty()) layers.insert(Layer::text);

  Groups out;
  add_header(out, drawing.box);
  begin_section(out, "TABLES");
  add_line_types(out);
  add_layers(out, layers);
  add_text_style(out);
  out.add(0, "ENDSEC");
  begin_section(out, "BLOCKS");
  out.add(0, "ENDSEC");
  begin_section(out, "ENTITIES");
  for (const Drawing::Line& line : drawing.lines) add_polyline(out, line);
  for (const Drawing::Spot& spot : drawing.spots) add_point(out, spot);
  for (const Drawing::Text& text : drawing.texts) add_text(out, text);
  out.add(0, "ENDSEC");
  out.add(0, "EOF");
  return out.take();
}

std::string dxf_of(const Panel& panel) { return dxf_of(drawing_of(panel)); }

}  // namespace chalkfold
