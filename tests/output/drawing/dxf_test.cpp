// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/drawing/dxf.h"

#include <gtest/gtest.h>

#include <map>

#include "tests/output/flag_panel.h"

namespace chalkfold::output {

namespace {
constexpr double decimals_mm = 0.5e-4;  // four decimals are written

struct ReadPolyline {
  std::string layer;
  bool closed = false;
  Polyline points;
};

struct ReadDxf {
  std::vector<ReadPolyline> polylines;
  std::vector<std::string> texts, text_layers;
  /// variable -> its first value
  std::map<std::string, std::string> header;
};

/// A reader that shares nothing with the writer: pairs of lines, as the format has them.
ReadDxf read_dxf(const std::string& bytes) {
  std::vector<std::string> lines;
  for (std::size_t at = 0; at < bytes.size();) {
    const std::size_t end = bytes.find("\r\n", at);
    EXPECT_NE(end, std::string::npos) << "a line without its end";
    if (end == std::string::npos) break;
    lines.push_back(bytes.substr(at, end - at));
    at = end + 2;
  }
  EXPECT_EQ(lines.size() % 2, 0u);
  ReadDxf dxf;
  std::string entity, variable;
  for (std::size_t i = 0; i + 1 < lines.size(); i += 2) {
    const int code = std::stoi(lines[i]);
    const std::string& value = lines[i + 1];
    if (code == 0) entity = value;
    if (code == 0 && value == "POLYLINE") dxf.polylines.emplace_back();
    if (code == 0 && value == "VERTEX") dxf.polylines.back().points.emplace_back(0, 0);
    if (code == 9) variable = value;
    if (code != 9 && !variable.empty()) dxf.header.emplace(std::exchange(variable, ""), value);
    if (entity == "POLYLINE" && code == 8) dxf.polylines.back().layer = value;
    if (entity == "POLYLINE" && code == 70) dxf.polylines.back().closed = std::stoi(value) == 1;
    if (entity == "VERTEX" && code == 8) {
      EXPECT_EQ(value, dxf.polylines.back().layer);
    }
    if (entity == "VERTEX" && code == 10) dxf.polylines.back().points.back().x() = std::stod(value);
    if (entity == "VERTEX" && code == 20) dxf.polylines.back().points.back().y() = std::stod(value);
    if (entity == "TEXT" && code == 8) dxf.text_layers.push_back(value);
    if (entity == "TEXT" && code == 1) dxf.texts.push_back(value);
  }
  EXPECT_EQ(entity, "EOF");
  return dxf;
}
}  // namespace

TEST(Dxf, HoldsBoundaryAndCutOutsOnTheirLayers) {
  const panel::Panel panel = test::flag_panel();
  const ReadDxf dxf = read_dxf(dxf_of(panel));
  ASSERT_EQ(dxf.polylines.size(), 2u);
  const panel::Contour* contours[] = {&panel.outline, &panel.cutouts[0]};
  const char* layers[] = {"1", "11"};
  for (std::size_t k = 0; k < 2; ++k) {
    EXPECT_EQ(dxf.polylines[k].layer, layers[k]);
    EXPECT_TRUE(dxf.polylines[k].closed);
    ASSERT_EQ(dxf.polylines[k].points.size(), contours[k]->points.size());
    for (std::size_t i = 0; i < contours[k]->points.size(); ++i) {
      const Vec2 off = dxf.polylines[k].points[i] + panel_origin(panel) - contours[k]->points[i];
      EXPECT_LE(off.cwiseAbs().maxCoeff(), decimals_mm + 1e-9) << "point " << i;
    }
  }
}

TEST(Dxf, IsNeverMirrored) {
  const ReadDxf dxf = read_dxf(dxf_of(test::flag_panel()));
  ASSERT_FALSE(dxf.polylines.empty());
  EXPECT_FALSE(geometry::contains(dxf.polylines[0].points, test::flag_notch));
  EXPECT_TRUE(geometry::contains(dxf.polylines[0].points, test::flag_notch_mirrored));
  EXPECT_GT(geometry::signed_area(dxf.polylines[0].points), 0)
      << "DXF has y up: the outline still runs counter-clockwise";
}

TEST(Dxf, SaysItsVersionAndUnit) {
  const ReadDxf dxf = read_dxf(dxf_of(test::flag_panel()));
  EXPECT_EQ(dxf.header.at("$ACADVER"), "AC1009");
  EXPECT_EQ(dxf.header.at("$INSUNITS"), "4");
  EXPECT_EQ(dxf.header.at("$MEASUREMENT"), "1");
  EXPECT_EQ(dxf.header.at("$EXTMIN"), "0.0000");
  EXPECT_EQ(dxf.header.at("$EXTMAX"), "200.0000");
  ASSERT_EQ(dxf.texts.size(), 4u);
  EXPECT_EQ(dxf.texts[1], "unit mm");
  EXPECT_EQ(dxf.texts[2], "side as photographed");
  for (const std::string& layer : dxf.text_layers) EXPECT_EQ(layer, "15");
}

TEST(Dxf, NamesThatCouldBreakTheFileDoNot) {
  const std::string name =
      "R\xC3\xBC"
      "cken\r\n  0\r\nEOF \\U+0041 %%d ^J";
  const std::string bytes = dxf_of(test::flag_panel(name));
  for (const char c : bytes) ASSERT_TRUE((c >= 0x20 && c < 0x7F) || c == '\r' || c == '\n');
  const ReadDxf dxf = read_dxf(bytes);
  ASSERT_EQ(dxf.texts.size(), 4u);
  EXPECT_EQ(dxf.texts[0], "R\\U+00FCcken    0  EOF \\U+005CU+0041 \\U+0025\\U+0025d \\U+005EJ");
}

}  // namespace chalkfold::output
