// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/report/compare_report.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "pipeline/geometry/polygon.h"
#include "pipeline/output/json/compare_json.h"
#include "tests/output/flag_panel.h"
#include "tests/output/schema_check.h"

namespace chalkfold::output {
namespace {

using testing::HasSubstr;
using testing::Not;
constexpr const char* schema = "compare.schema.json";

/// The flag after it shrank by 3 % along x, against the flag as it was cut.
draft::DimensionalChange shrunk_flag(const std::string& name = "flag") {
  const panel::Panel before = test::flag_panel("reference");
  panel::Panel after = test::flag_panel(name);
  for (Vec2& p : after.outline.points) p.x() *= 0.97;
  draft::ChangeOptions options;
  options.grain_deg = 0;
  options.given = {{{0, 0}, {339.5, 0}, 350}};
  return draft::dimensional_change(draft::compared_panel(before), draft::compared_panel(after), options);
}

TEST(CompareJson, FitsItsSchema) {
  EXPECT_EQ(test::complaints(schema, nlohmann::json::parse(compare_json_text(shrunk_flag()))), "");
  const draft::DimensionalChange size =
      draft::dimensional_change(draft::NominalSize{206, 120}, draft::compared_panel(test::flag_panel()));
  EXPECT_EQ(test::complaints(schema, nlohmann::json::parse(compare_json_text(size))), "");
  const draft::DimensionalChange refused =
      draft::dimensional_change(draft::other_side(draft::compared_panel(test::flag_panel("other"))),
                                draft::compared_line({{0, 0}, {900, 0}, {900, 60}, {0, 40}}, "strip", "SVG outline"));
  EXPECT_FALSE(refused.done);
  EXPECT_EQ(test::complaints(schema, nlohmann::json::parse(compare_json_text(refused))), "");
}

TEST(CompareJson, TheSchemaRefusesMissingStrangeAndWrongFields) {
  const auto good = nlohmann::json::parse(compare_json_text(shrunk_flag()));
  auto missing = good, strange = good, wrong = good;
  missing.erase("along");
  strange["along"]["mm"] = 1;
  wrong["residuals"][0]["U"] = -1;
  for (const auto& document : {missing, strange, wrong}) EXPECT_NE(test::complaints(schema, document), "");
}

TEST(CompareJson, HoldsTheFigures) {
  const auto json = nlohmann::json::parse(compare_json_text(shrunk_flag()));
  EXPECT_NEAR(json["along"]["percent"].get<double>(), -3, 0.01);  // percent: the notch of the flag is bridged unevenly
  EXPECT_NEAR(json["across"]["percent"].get<double>(), 0, 0.01);
  EXPECT_NEAR(json["distances"][0]["percent"].get<double>(), -3, 1e-9);
  EXPECT_EQ(json["measured_outline"].size(), json["reference_outline"].size());
}

TEST(CompareText, SaysWhatToCut) {
  const std::string text = compare_text(shrunk_flag());
  EXPECT_THAT(text, HasSubstr("minus is shrinkage"));
  EXPECT_THAT(text, HasSubstr("shrunk by 6.0 mm; to come out at 194.0 mm cut 200.0 mm"));
  EXPECT_THAT(text, HasSubstr("no change beyond U"));
  EXPECT_THAT(text, HasSubstr("some upholstery"));
}

TEST(CompareHtml, EscapesNames) {
  const draft::DimensionalChange change = shrunk_flag("flag <1> & \"2\"");
  const std::string html = compare_html(change, "compare.svg", "now");
  EXPECT_THAT(html, HasSubstr("flag &lt;1&gt; &amp; &quot;2&quot;"));
  EXPECT_THAT(html, Not(HasSubstr("flag <1>")));
  EXPECT_THAT(compare_svg(change), Not(HasSubstr("flag <1>")));
}

/// Points of the black outline, as the picture has them: y down.
Polyline black_outline(const std::string& svg) {
  const std::size_t end =
      svg.find("\" fill=\"none\" stroke=\"#1c1c1c\"", svg.find(" Z\" fill=\"none\" stroke=\"#1c1c1c\""));
  const std::size_t start = svg.rfind("d=\"M", end) + 4;
  std::istringstream words(svg.substr(start, end - start - 2));
  Polyline points;
  for (std::string x, y; words >> x >> y;) points.emplace_back(std::stod(x[0] == 'L' ? x.substr(1) : x), std::stod(y));
  return points;
}

TEST(CompareSvg, IsNotMirroredAndTrueToScale) {
  const draft::DimensionalChange change = shrunk_flag();
  const Polyline drawn = black_outline(compare_svg(change));
  ASSERT_EQ(drawn.size(), change.measured_outline.size());
  const geometry::Box box = geometry::bounding_box(drawn), truth = geometry::bounding_box(change.measured_outline);
  constexpr double written = 1e-4;  // mm, four decimals
  for (std::size_t i = 0; i < drawn.size(); ++i) {
    EXPECT_NEAR(drawn[i].x() - box.min.x(), change.measured_outline[i].x() - truth.min.x(), written);
    EXPECT_NEAR(box.max.y() - drawn[i].y(), change.measured_outline[i].y() - truth.min.y(), written);
  }
}

TEST(CompareSvg, NeedsAnOutlineOnBothSides) {
  EXPECT_EQ(
      compare_svg(draft::dimensional_change(draft::NominalSize{200, 120}, draft::compared_panel(test::flag_panel()))),
      "");
}

}  // namespace
}  // namespace chalkfold::output
