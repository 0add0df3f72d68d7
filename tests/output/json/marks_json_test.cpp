// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/json/marks_json.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "pipeline/output/drawing/drawing.h"
#include "pipeline/output/drawing/dxf.h"
#include "pipeline/output/drawing/svg.h"
#include "pipeline/output/json/panel_json.h"
#include "tests/output/marked_flag.h"
#include "tests/output/schema_check.h"

namespace chalkfold::output {

namespace {
using testing::HasSubstr;
}  // namespace

TEST(MarksJson, FitsTheSchemaAndGivesEveryMarkBackInThePanelsFrame) {
  const auto json = nlohmann::json::parse(panel_json(test::marked_flag()));
  EXPECT_EQ(test::complaints("panel.schema.json", json), "");
  const auto& m = json["marks"];
  EXPECT_EQ(m["matches"][0]["foot"], nlohmann::json({12.0, 0.0}));
  EXPECT_EQ(m["matches"][0]["tip"], nlohmann::json({13.0, 18.0}));
  EXPECT_EQ(m["matches"][0]["number"]["picture"], "pictures/marks/flag match mark 1.jpg");
  EXPECT_EQ(m["matches"][0]["colour"], nlohmann::json({230, 231, 232}));
  EXPECT_EQ(m["centre"]["to"], nlohmann::json({101.0, 110.0}));
  EXPECT_EQ(m["grain"]["tail"], nlohmann::json({40.0, 30.0}));
  EXPECT_EQ(m["grain"]["head"], nlohmann::json({60.0, 80.0}));
  EXPECT_NEAR(m["writings"][0]["up_deg"].get<double>(), 85.9437, 1e-3);
  EXPECT_EQ(m["notches"][0]["shape"], "slit");
  EXPECT_EQ(m["holes"][0]["centre"], nlohmann::json({70.0, 20.0}));
  EXPECT_EQ(m["needle_rows"][0]["allowance"], 10.0);
}

TEST(MarksJson, TheSchemaRefusesWhatIsNoMark) {
  auto json = nlohmann::json::parse(panel_json(test::marked_flag()));
  json["marks"]["notches"][0]["shape"] = "square";
  EXPECT_NE(test::complaints("panel.schema.json", json), "");
}

TEST(MarksDrawing, EachKindHasItsLayerAndIsNotMirrored) {
  const Drawing drawing = drawing_of(test::marked_flag().panel);
  const auto line = [&](Layer layer) {
    const auto l = std::find_if(drawing.lines.begin(), drawing.lines.end(),
                                [&](const Drawing::Line& x) { return x.layer == layer; });
    return l == drawing.lines.end() ? Polyline{} : l->points;
  };
  constexpr double rounding = 1e-9;  // mm
  ASSERT_EQ(line(Layer::grain).size(), 2u);
  EXPECT_NEAR((line(Layer::grain)[0] - Vec2(40, 30)).norm(), 0, rounding) << "tail first";
  EXPECT_NEAR((line(Layer::grain)[1] - Vec2(60, 80)).norm(), 0, rounding);
  EXPECT_NEAR((line(Layer::mirror)[0] - Vec2(100, 5)).norm(), 0, rounding);
  EXPECT_EQ(line(Layer::sew).size(), 3u);
  EXPECT_EQ(line(Layer::internal).size(), 4u);
  EXPECT_EQ(std::count_if(drawing.lines.begin(), drawing.lines.end(),
                          [](const Drawing::Line& l) { return l.layer == Layer::marks; }),
            2)
      << "notch and match mark";
  ASSERT_EQ(drawing.spots.size(), 1u);
  EXPECT_NEAR((drawing.spots[0].at - Vec2(70, 20)).norm(), 0, rounding);
}

TEST(MarksDrawing, DxfAndSvgCarryThem) {
  const panel::Panel panel = test::marked_flag().panel;
  const std::string dxf = dxf_of(panel), svg = svg_of(panel);
  EXPECT_THAT(dxf, HasSubstr("POINT\r\n  8\r\n13\r\n"));
  for (const char* layer : {"4", "6", "7", "8", "13", "14"}) {
    EXPECT_THAT(dxf, HasSubstr(std::string("LAYER\r\n  2\r\n") + layer + "\r\n")) << layer;
    EXPECT_THAT(svg, HasSubstr(std::string("<g id=\"layer-") + layer + "\"")) << layer;
  }
  EXPECT_THAT(svg, HasSubstr("<circle cx=\"80.0000\" cy=\"110.0000\" r=\"1.5000\"/>"))
      << "y down: 10 mm of margin and 120 - 20";
}

}  // namespace chalkfold::output
