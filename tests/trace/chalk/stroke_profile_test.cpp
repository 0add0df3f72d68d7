// SPDX-License-Identifier: Apache-2.0
// Departures given in closed form, or strokes drawn at known places.
#include "pipeline/trace/chalk/stroke_profile.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "pipeline/geometry/polygon.h"
#include "tests/trace/drawn_panel.h"

namespace chalkfold::trace {
namespace {

using test::DrawnPanel;

/// A picture of 60 x 60 mm, (0, 0) in its middle, whose departure at a table point is value(point); inside everywhere but where x > `border`.
template <class Value>
PanelPicture picture_of(Value&& value, double border = 1e9) {
  PanelPicture picture;
  picture.raster = raster_over({Vec2(-30, -30), Vec2(30, 30)}, panel_mm_per_px);
  picture.bgr = cv::Mat(picture.raster.size, CV_8UC3, cv::Scalar(10, 20, 30));
  picture.inside = cv::Mat(picture.raster.size, CV_8UC1, cv::Scalar(255));
  picture.departure = cv::Mat(picture.raster.size, CV_32FC3);
  for (int y = 0; y < picture.raster.size.height; ++y)
    for (int x = 0; x < picture.raster.size.width; ++x) {
      const Vec2 p = picture.raster.table_from_raster(Vec2(x, y));
      picture.departure.at<cv::Vec3f>(y, x) = value(p);
      if (p.x() > border) picture.inside.at<unsigned char>(y, x) = 0;
    }
  picture.departure_from_bgr = cv::Matx33f::eye();
  return picture;
}

/// A round-shouldered line along y = 0, from x = -15 to 15: a Gaussian of 1 standard deviation across.
constexpr double line_sigma = 1.0, line_height = 10;
cv::Vec3f gaussian_line(const Vec2& p) {
  const double height =
      std::abs(p.x()) <= 15 ? line_height * std::exp(-0.5 * p.y() * p.y() / (line_sigma * line_sigma)) : 0;
  return {static_cast<float>(height), static_cast<float>(-height / 2), 0};
}

/// Of the line's height, what is read: samples at 0 and 0.6 mm on it, less those at 2.4, 3.0 and 3.6 mm beside it, all of them 0.3 widths or less, and
/// 0.9 to 2.7 mm beyond half a width, from the middle.
double share_read() {
  const auto at = [](double y) { return std::exp(-0.5 * y * y / (line_sigma * line_sigma)); };
  return (at(0) + 2 * at(0.6)) / 3 - (at(2.4) + at(3.0) + at(3.6)) / 3;
}

PanelPicture picture_of_drawn(const DrawnPanel& drawn) {
  constexpr double noise = 1.5;  // of 255
  return panel_picture(drawn.photo(noise), drawn.view(), drawn.panel(), 0);
}

const cv::Scalar chalk(225, 228, 226);

// What is linear in the place is read exactly between the pixels, and its mean over places that lie even about the line is its value on it.
TEST(StrokeProfile, ReadsALinearDepartureExactly) {
  const auto linear = [](const Vec2& p) {
    return cv::Vec3f(static_cast<float>(p.x()), static_cast<float>(2 * p.y()), 3);
  };
  const StrokeProfile profile(picture_of(linear), {{-9, 1}, {9, 1}});
  constexpr double same = 1e-4;  // of single precision
  const cv::Vec3f both = profile.mean(0, profile.size(), 0, 3, 0);
  EXPECT_NEAR(both[0], 0, same);
  EXPECT_NEAR(both[1], 2, same);
  EXPECT_NEAR(both[2], 3, same);
  const double step = StrokeProfile::offset_step;
  EXPECT_NEAR(profile.mean(0, profile.size(), step / 2, 2.5 * step, 1)[1], 2 + 2 * 1.5 * step, same) << "left is up";
  EXPECT_NEAR(profile.mean(0, profile.size(), step / 2, 2.5 * step, -1)[1], 2 - 2 * 1.5 * step, same);
  EXPECT_NEAR(profile.mean_at(-2)[1], 2 - 2 * 2 * step, same);
  EXPECT_NEAR((profile.points()[1] - profile.points()[0]).norm(), panel_mm_per_px, 1e-9);
}

TEST(StrokeProfile, WhatLiesOffThePanelIsLeftOut) {
  const auto one = [](const Vec2& p) { return cv::Vec3f(p.x() > 0 ? 100.0f : 1.0f, 0, 0); };
  const StrokeProfile profile(picture_of(one, 0), {{-12, 0}, {12, 0}});
  EXPECT_NEAR(profile.share_inside(), 0.5, 0.05);
  int count = 0;
  EXPECT_NEAR(profile.mean(0, profile.size(), 0, 0.1, 0, &count)[0], 1, 1e-5);
  EXPECT_NEAR(count, static_cast<double>(profile.size()) / 2, 1);
}

TEST(MeasuredStroke, AGaussianLineHasItsHeightItsWidthAndItsPlace) {
  const PanelPicture picture = picture_of(gaussian_line);
  for (const double off : {0.0, 0.6, -0.9}) {
    const Stroke s = measured_stroke(picture, {{-14, off}, {14, off}});
    // Full width at half height of a Gaussian: 2 sqrt(2 ln 2) standard deviations. A sample is 0.6 mm.
    EXPECT_NEAR(s.width, 2 * std::sqrt(2 * std::log(2.0)) * line_sigma, 0.3) << off;
    EXPECT_NEAR(s.departure[1] / s.departure[0], -0.5, 1e-3) << off;
    EXPECT_NEAR(s.contrast, share_read() * line_height * std::hypot(1, 0.5), 0.02 * line_height) << off;
    EXPECT_EQ(s.steadiness, 1) << off;
    EXPECT_NEAR(s.length, 28, 0.6) << off;
    for (const Vec2& p : s.points) EXPECT_NEAR(p.y(), 0, 0.1) << "moved to the middle from " << off;
  }
}

TEST(MeasuredStroke, StepsSlopesAndLinesOffThePanelAreNone) {
  const auto step = [](const Vec2& p) { return cv::Vec3f(p.y() > 0 ? 10.0f : 0.0f, 0, 0); };
  EXPECT_EQ(measured_stroke(picture_of(step), {{-14, 0}, {14, 0}}).contrast, 0) << "a step";
  const auto dots = [](const Vec2& p) {
    return std::abs(p.x()) < 1 ? cv::Vec3f(10, 0, 0) * static_cast<float>(std::exp(-p.y() * p.y())) : cv::Vec3f();
  };
  EXPECT_EQ(measured_stroke(picture_of(dots), {{-14, 0}, {14, 0}}).contrast, 0) << "a dot";
  EXPECT_EQ(measured_stroke(picture_of(gaussian_line, -5), {{-14, 0}, {14, 0}}).contrast, 0)
      << "two thirds are off the panel";
  EXPECT_GT(measured_stroke(picture_of(gaussian_line, 5), {{-14, 0}, {14, 0}}).contrast, 0) << "one third is";
}

TEST(MeasuredStroke, ADrawnStrokesWidthAndColour) {
  for (const double width : {1.8, 3.0, 4.5}) {
    DrawnPanel drawn;
    drawn.stroke({{-20, 0.7}, {20, 0.7}}, width, chalk);
    const Stroke s = measured_stroke(picture_of_drawn(drawn), {{-19, 0}, {19, 0}});
    EXPECT_NEAR(s.width, width, 0.5) << "mm, a sample and what the panel's own mean takes";
    EXPECT_NEAR(s.colour[0], 226, 12) << width;
    for (const Vec2& p : s.points) EXPECT_NEAR(p.y(), 0.7, 0.25) << width;
  }
}

TEST(DrawnPart, IsTheStretchThatIsDrawnWithItsShortBreaks) {
  const auto broken = [](const Vec2& p) { return std::abs(p.x() - 2) < 2 ? cv::Vec3f() : gaussian_line(p); };
  for (const bool whole : {true, false}) {
    const PanelPicture picture = whole ? picture_of(gaussian_line) : picture_of(broken);
    const Polyline part = drawn_part({picture, {{-27, 0}, {27, 0}}});
    EXPECT_NEAR(part.front().x(), -15, 2.5) << "mm: a cell and its neighbours";
    EXPECT_NEAR(part.back().x(), 15, 2.5);
  }
}

TEST(PartsInInk, AreTheStretchesThatShowIt) {
  const auto two = [](const Vec2& p) {
    return std::abs(p.x()) < 8 || std::abs(p.x()) > 18 ? cv::Vec3f() : gaussian_line(Vec2(0, p.y()));
  };
  const StrokeProfile profile(picture_of(two), {{-27, 0}, {27, 0}});
  const cv::Vec3f way = cv::normalize(cv::Vec3f(1, -0.5f, 0));
  const auto parts = parts_in_ink(profile, way, line_height);
  ASSERT_EQ(parts.size(), 2u);
  for (const std::size_t k : {0u, 1u}) {
    const double middle = 0.5 * (parts[k].front().x() + parts[k].back().x());
    EXPECT_NEAR(middle, k == 0 ? -13 : 13, 1.5);
  }
  EXPECT_TRUE(parts_in_ink(profile, way, 3 * line_height).empty()) << "of a chalk three times as strong";
  EXPECT_TRUE(parts_in_ink(profile, -way, line_height).empty()) << "of another colour";
}

TEST(InkAt, IsOneOnTheStrokeAndNothingBesideItOrOffThePanel) {
  const PanelPicture picture = picture_of(gaussian_line, 12);
  const Stroke s = measured_stroke(picture, {{-14, 0}, {11, 0}});
  EXPECT_NEAR(ink_at(picture, s, {0, 0}), 1 / share_read(), 0.02);
  EXPECT_NEAR(ink_at(picture, s, {0, line_sigma}), std::exp(-0.5) / share_read(), 0.05);
  EXPECT_NEAR(ink_at(picture, s, {0, 6}), 0, 1e-6);
  EXPECT_EQ(ink_at(picture, s, {13, 0}), 0);
}

TEST(DisplacedCopies, ShowTheStrokeAtItsPlaceAndAtItsTwinsAndNothingBetween) {
  const auto twins = [](const Vec2& p) {
    return gaussian_line(Vec2(p.x(), p.y() + 10)) + 0.5f * gaussian_line(Vec2(p.x(), p.y() - 10));
  };
  const PanelPicture picture = picture_of(twins);
  const Stroke s = measured_stroke(picture, {{-14, -10}, {14, -10}});
  const DisplacedCopies copies(picture, s);
  // On the line less 0.9 and 2.7 mm beyond half a width beside it; between two rows of pixels a peak reads up to 0.36 / 8 less.
  const auto beside = [&](double more) { return std::exp(-0.5 * std::pow(s.width / 2 + more, 2)); };
  const double own = line_height * std::hypot(1, 0.5) * (1 - (beside(0.9) + beside(2.7)) / 2);
  EXPECT_NEAR(copies.contrast({0, 0}).value(), own, 0.05 * own);
  EXPECT_NEAR(copies.contrast({0, 20}).value(), 0.5 * own, 0.05 * own);
  EXPECT_NEAR(copies.contrast({0, 10}).value(), 0, 0.02 * own);
  EXPECT_FALSE(copies.contrast({40, 0})) << "off the picture";
}

}  // namespace
}  // namespace chalkfold::trace
