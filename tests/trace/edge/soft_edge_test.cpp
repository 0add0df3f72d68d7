// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/edge/soft_edge.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "tests/trace/drawn_panel.h"

namespace chalkfold::trace {
namespace {

using test::DrawnPanel;

constexpr double spot = 45;  // mm, standard deviation of a glare

/// Adds a round glare in the middle of the picture, brightest by `amount` of 255.
cv::Mat with_glare(cv::Mat photo, double amount) {
  const double px = spot * DrawnPanel::px_per_mm, x0 = 0.5 * photo.cols, y0 = 0.5 * photo.rows;
  for (int y = 0; y < photo.rows; ++y)
    for (int x = 0; x < photo.cols; ++x) {
      const double r2 = (std::pow(x - x0, 2) + std::pow(y - y0, 2)) / (px * px);
      cv::Vec3b& c = photo.at<cv::Vec3b>(y, x);
      for (int k = 0; k < 3; ++k) c[k] = cv::saturate_cast<unsigned char>(c[k] + amount * std::exp(-0.5 * r2));
    }
  return photo;
}

Polyline circle(double radius) {
  Polyline points;
  for (int i = 0; i < 360; ++i) {
    const double a = i * std::numbers::pi / 180;
    points.emplace_back(radius * std::cos(a), radius * std::sin(a));
  }
  return points;
}

TEST(SoftEdge, TheFlankOfAGlareIsNoEdge) {
  const cv::Mat photo = with_glare(DrawnPanel({60, 54, 52}).photo(), 190);
  const survey::TableView view = DrawnPanel().view();
  const BoundarySampler sampler(photo, view, 0, 0);
  const auto soft = soft_stretch(circle(spot), sampler, 1.2);
  ASSERT_TRUE(soft);
  EXPECT_GT(soft->length, 0.9 * 2 * std::numbers::pi * spot);
}

TEST(SoftEdge, APanelsOwnEdgeIsSharpWithAGlareOnItToo) {
  const DrawnPanel drawn({60, 54, 52});
  const survey::TableView view = drawn.view();
  for (const double amount : {0.0, 190.0}) {
    const cv::Mat photo = with_glare(drawn.photo(), amount);
    EXPECT_FALSE(soft_stretch(drawn.panel().outline.points, BoundarySampler(photo, view, 0, 0), 1.2)) << amount;
  }
}

TEST(SoftEdge, PaperBesideAPanelDoesNotCount) {
  DrawnPanel drawn({60, 54, 52});
  const Polyline paper = {{-140, 112}, {140, 112}, {140, 135}, {-140, 135}};
  drawn.polygon(paper, {250, 250, 250});
  const cv::Mat photo = drawn.photo();
  const survey::TableView view = drawn.view();
  BoundarySampler sampler(photo, view, 0, 0);
  sampler.cover(paper);
  EXPECT_FALSE(soft_stretch(drawn.panel().outline.points, sampler, 1.2));
}

}  // namespace
}  // namespace chalkfold::trace
