// SPDX-License-Identifier: Apache-2.0
// Our SVG drawn by rsvg-convert at 254 dpi (10 px a mm): the area inside the boundary is the outline's within 0.1 %,
// and it is not mirrored.
#include "pipeline/output/drawing/svg.h"

#include <gtest/gtest.h>

#include <opencv2/core.hpp>
#include <opencv2/imgcodecs.hpp>

#include "tests/common/run_program.h"
#include "tests/outside/wavy_panel.h"

namespace chalkfold {

namespace {
constexpr double px_per_mm = 10;          // 254 dpi
constexpr double area_tolerance = 0.001;  // relative, what the exchange files answer to

std::string replaced(std::string text, const std::string& from, const std::string& to) {
  const std::size_t at = text.find(from);
  if (at == std::string::npos) throw std::logic_error("not in the SVG: " + from);
  return text.replace(at, from.size(), to);
}

/// Coverage (0..1) of the boundary's inside: a copy of the file with the first group filled instead of drawn, and no
/// other group.
cv::Mat inside_of_boundary(const std::string& svg) {
  const std::string first = svg.substr(0, svg.find("</g>") + 4) + "</svg>";
  const std::string filled = replaced(first, "fill=\"none\" stroke=\"#000000\"", "fill=\"#000000\" stroke=\"none\"");
  const test::TemporaryFolder folder;
  test::write_whole(folder / "panel.svg", filled);
  const test::ProgramRun run =
      test::run_program({CHALKFOLD_RSVG, "--dpi-x", "254", "--dpi-y", "254", "--format", "png", "--output",
                         (folder / "panel.png").string(), (folder / "panel.svg").string()});
  EXPECT_EQ(run.exit, 0) << run.err;
  const cv::Mat picture = cv::imread((folder / "panel.png").string(), cv::IMREAD_UNCHANGED);
  if (picture.channels() != 4) throw std::logic_error("no transparent picture came back");
  cv::Mat alpha;
  cv::extractChannel(picture, alpha, 3);
  alpha.convertTo(alpha, CV_64F, 1.0 / 255);
  return alpha;
}

double area_mm2(const cv::Mat& coverage) { return cv::sum(coverage)[0] / (px_per_mm * px_per_mm); }
}  // namespace

TEST(SvgByRsvg, AreaIsTheOutlines) {
  for (const panel::Panel& panel : {test::flag_panel(), test::wavy_panel("wavy")}) {
    const double wanted = geometry::signed_area(panel.outline.points);
    EXPECT_NEAR(area_mm2(inside_of_boundary(output::svg_of(panel))), wanted, area_tolerance * wanted) << panel.name;
  }
}

TEST(SvgByRsvg, SizeIsTrue) {
  const cv::Mat coverage = inside_of_boundary(output::svg_of(test::flag_panel()));
  EXPECT_EQ(coverage.cols, 2200);
  EXPECT_EQ(coverage.rows, 1400);
}

TEST(SvgByRsvg, IsNeverMirrored) {
  const cv::Mat coverage = inside_of_boundary(output::svg_of(test::flag_panel()));
  const auto at = [&](const Vec2& in_panel) {
    return coverage.at<double>(static_cast<int>((10 + 120 - in_panel.y()) * px_per_mm),
                               static_cast<int>((10 + in_panel.x()) * px_per_mm));
  };
  EXPECT_EQ(at(test::flag_notch), 0);
  EXPECT_EQ(at(test::flag_notch_mirrored), 1);
  EXPECT_EQ(at({196, 30}), 1) << "no notch where it would be upside down";
}

}  // namespace chalkfold
