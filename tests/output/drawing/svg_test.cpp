// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/drawing/svg.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <sstream>

#include "tests/output/flag_panel.h"

namespace chalkfold::output {

namespace {
using testing::HasSubstr;
using testing::Not;

/// Points of every path, in the order of the file; y down, as SVG has it.
std::vector<Polyline> paths_of(const std::string& svg) {
  std::vector<Polyline> paths;
  const std::string begin = "<path d=\"", end = "\"/>";
  for (std::size_t at = svg.find(begin); at != std::string::npos; at = svg.find(begin, at)) {
    at += begin.size();
    const std::string d = svg.substr(at, svg.find(end, at) - at);
    EXPECT_TRUE(d.ends_with(" Z"));
    Polyline points;
    std::istringstream words(d);
    for (std::string word, y; words >> word && word != "Z" && words >> y;)  // "M12.5 3", then "L12.5 4" and so on
      points.emplace_back(std::stod(word.substr(1)), std::stod(y));
    paths.push_back(points);
  }
  return paths;
}
}  // namespace

TEST(Svg, IsTrueToScaleWithOneGroupALayer) {
  const std::string svg = svg_of(test::flag_panel());
  EXPECT_THAT(svg, HasSubstr("width=\"220.0000mm\" height=\"140.0000mm\" viewBox=\"0 0 220.0000 140.0000\""));
  EXPECT_THAT(svg, HasSubstr("<g id=\"layer-1\" fill=\"none\" stroke=\"#000000\" stroke-width=\"0.35\""));
  EXPECT_THAT(svg, HasSubstr("<title>piece boundary</title>"));
  EXPECT_THAT(svg, HasSubstr("<g id=\"layer-11\""));
  EXPECT_THAT(svg, HasSubstr("<title>cut-outs</title>"));
  EXPECT_THAT(svg, HasSubstr("unit mm"));
  EXPECT_THAT(svg, Not(HasSubstr("<text")));
}

TEST(Svg, IsNeverMirrored) {
  const std::vector<Polyline> paths = paths_of(svg_of(test::flag_panel()));
  ASSERT_EQ(paths.size(), 2u);
  const Vec2 notch = Vec2(10, 10) + Vec2(test::flag_notch.x(), 120 - test::flag_notch.y());
  const Vec2 mirrored = Vec2(10, 10) + Vec2(test::flag_notch_mirrored.x(), 120 - test::flag_notch_mirrored.y());
  EXPECT_FALSE(geometry::contains(paths[0], notch));
  EXPECT_TRUE(geometry::contains(paths[0], mirrored));
  EXPECT_LT(geometry::signed_area(paths[0]), 0)
      << "with y down a counter-clockwise outline has negative area; positive would be a mirror image";
  EXPECT_TRUE(geometry::contains(paths[1], Vec2(10 + 30, 10 + 120 - 30))) << "the cut-out lies lower left";
}

TEST(Svg, EscapesNames) {
  const std::string svg = svg_of(test::flag_panel("a <script> & \"b\""));
  EXPECT_THAT(svg, HasSubstr("<title>a &lt;script&gt; &amp; &quot;b&quot;</title>"));
}

}  // namespace chalkfold::output
