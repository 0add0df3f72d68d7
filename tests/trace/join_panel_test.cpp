// SPDX-License-Identifier: Apache-2.0
// Panels of one rectangle as two photos saw it, with U in closed form where the survey is without error.
#include "pipeline/trace/join_panel.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "pipeline/trace/edge/uncertainty.h"
#include "tests/trace/straight_view.h"

namespace chalkfold::trace {
namespace {

constexpr double width = 300, height = 200, sigma = 0.04, px_per_mm = 3;

Polyline rectangle(const Vec2& low, const Vec2& high) {
  const Polyline corners = {low, {high.x(), low.y()}, high, {low.x(), high.y()}};
  return geometry::resample_closed(corners, static_cast<std::size_t>(2 * (high - low).sum()));
}

panel::Contour contour_of(Polyline points, double U) {
  const std::size_t n = points.size();
  return {std::move(points), std::vector<double>(n, sigma), std::vector<double>(n, U)};
}

panel::Panel panel_of(const Vec2& low, const Vec2& high, double U = 0.2) {
  panel::Panel p;
  p.outline = contour_of(rectangle(low, high), U);
  return p;
}

survey::TableView view_named(const std::string& name) {
  survey::TableView::Solution s = test::straight_above({1200, 900}, px_per_mm);
  s.photo = name;
  return survey::TableView(s);
}

struct TwoPhotos {
  survey::TableView first = view_named("first.jpg"), second = view_named("second.jpg");
  Eigen::MatrixXd joint = Eigen::MatrixXd::Zero(2 * survey::TableView::parameters, 2 * survey::TableView::parameters);
  TraceOptions options;
  TwoPhotos() { options.thickness_sigma = 0; }

  std::optional<panel::Panel> join(const panel::Panel& a, const panel::Panel& b, const Polyline& seen_a = {},
                                   const Polyline& seen_b = {}, OutlineGap* gap = nullptr,
                                   const geometry::Rigid2& second_from_joined = {}) const {
    return join_panel({{&a, seen_a, &first, {}, 0}, {&b, seen_b, &second, second_from_joined, 1}}, joint, options, gap);
  }
};

const Fault* disagreement(const panel::Panel& p) {
  const auto f =
      std::find_if(p.faults.begin(), p.faults.end(), [](const Fault& x) { return x.code == "photos-disagree"; });
  return f == p.faults.end() ? nullptr : &*f;
}

const Vec2 low(-width / 2, -height / 2), high(width / 2, height / 2);

TEST(JoinPanel, TwoAlikeAreTheSameWithTheEdgesNoiseAveragedAndTheModelsDoubtKept) {
  const TwoPhotos photos;
  const panel::Panel p = panel_of(low, high);
  const auto joined = photos.join(p, p);
  ASSERT_TRUE(joined);
  EXPECT_NEAR(joined->area, width * height, 1) << "mm2";
  EXPECT_NEAR(joined->perimeter, 2 * (width + height), 0.5);
  EXPECT_NEAR(joined->px_per_mm, px_per_mm, 0.02);
  EXPECT_TRUE(joined->faults.empty());
  const double model = model_sigma(photos.first, {0, low.y()}, photos.options);
  const double U = 2 * std::sqrt(sigma * sigma / 2 + model * model);
  EXPECT_NEAR(joined->U_median, U, 0.002) << "no survey in it: its covariance is 0";
}

TEST(JoinPanel, TheOneWithTheSmallerUHasTheLargerShare) {
  const TwoPhotos photos;
  constexpr double apart = 0.09, U_first = 0.1, U_second = 0.2;
  const auto joined = photos.join(panel_of(low, high, U_first),
                                  panel_of(low - Vec2::Constant(apart), high + Vec2::Constant(apart), U_second));
  ASSERT_TRUE(joined);
  // Weights 1 / U2: 4 to 1, so a fifth of the way from the first to the second.
  const double lowest =
      std::min_element(joined->outline.points.begin(), joined->outline.points.end(), [](const Vec2& a, const Vec2& b) {
        return a.y() < b.y();
      })->y();
  EXPECT_NEAR(lowest, low.y() - apart / 5, 0.01);
  EXPECT_FALSE(disagreement(*joined)) << "within their U";
}

TEST(JoinPanel, APanelThatLaySomewhereElseInTheSecondPhotoIsLaidOnTheFirst) {
  const TwoPhotos photos;
  const geometry::Rigid2 second_from_joined{0.3, Vec2(20, -15)};
  const panel::Panel p = panel_of(low, high);
  panel::Panel moved = p;
  moved.outline.points = geometry::moved(second_from_joined, p.outline.points);
  const auto joined = photos.join(p, moved, {}, {}, nullptr, second_from_joined);
  ASSERT_TRUE(joined);
  for (const Vec2& q : joined->outline.points)
    EXPECT_LT(geometry::distance_to(rectangle(low, high), q, true), 0.01) << q.transpose();
}

TEST(JoinPanel, MoreThanUAllowsOverALongStretchIsToldWithPhotoAndPlace) {
  const TwoPhotos photos;
  const panel::Panel good = panel_of(low, high);
  for (const double long_side : {80.0, 20.0}) {
    panel::Panel bulged = good;
    for (Vec2& p : bulged.outline.points) {
      if (p.y() < low.y() + 0.1 && std::abs(p.x()) < long_side / 2) p.y() -= 1.2;
    }
    const auto joined = photos.join(good, bulged);
    ASSERT_TRUE(joined);
    const Fault* fault = disagreement(*joined);
    ASSERT_EQ(fault != nullptr, long_side > 40) << "shorter ones are threads and chalk";
    if (fault) {
      EXPECT_EQ(fault->severity, Severity::warning);
    }
  }
}

TEST(JoinPanel, PartsThatPutOneEdgeInTwoPlacesAreRefusedAndWholesAreWarnedOf) {
  const TwoPhotos photos;
  const panel::Panel p = panel_of(low, high);
  panel::Panel shifted = p;
  for (Vec2& q : shifted.outline.points) {
    if (q.y() < low.y() + 0.1 && std::abs(q.x()) < 50) q.y() -= 5;  // out of the other's reach
  }
  const Polyline left = {{-250, -250}, {130, -250}, {130, 250}, {-250, 250}},
                 right = {{-130, -250}, {250, -250}, {250, 250}, {-130, 250}};
  const auto parts = photos.join(p, shifted, left, right);
  ASSERT_TRUE(parts);
  ASSERT_TRUE(disagreement(*parts));
  EXPECT_EQ(std::count_if(parts->faults.begin(), parts->faults.end(),
                          [](const Fault& f) { return f.severity == Severity::refusal; }),
            1);
  const auto wholes = photos.join(p, shifted);
  ASSERT_TRUE(wholes);
  ASSERT_TRUE(disagreement(*wholes));
  for (const Fault& f : wholes->faults) EXPECT_NE(f.severity, Severity::refusal);
}

TEST(JoinPanel, WhatNeitherPhotoSeesIsAGap) {
  const TwoPhotos photos;
  const panel::Panel p = panel_of(low, high);
  OutlineGap gap;
  const Polyline left = {{-200, -150}, {-20, -150}, {-20, 150}, {-200, 150}},
                 right = {{20, -150}, {200, -150}, {200, 150}, {20, 150}};
  EXPECT_FALSE(photos.join(p, p, left, right, &gap));
  EXPECT_NEAR(gap.at.x(), 0, 25);
  EXPECT_NEAR(gap.length, height, 10) << "across the panel, where a photo ends";
}

TEST(JoinPanel, CutOutsThatBothSeeAreJoinedAndOneThatOneSeesIsKept) {
  const TwoPhotos photos;
  panel::Panel a = panel_of(low, high), b = a;
  const auto hole = [](const Vec2& middle, double half) {
    Polyline points = rectangle(middle - Vec2::Constant(half), middle + Vec2::Constant(half));
    std::reverse(points.begin(), points.end());
    return contour_of(points, 0.2);
  };
  a.cutouts = {hole({-60, 0}, 15), hole({70, 20}, 10)};
  b.cutouts = {hole({-60, 0}, 15.2)};
  const auto joined = photos.join(a, b);
  ASSERT_TRUE(joined);
  ASSERT_EQ(joined->cutouts.size(), 2u);
  EXPECT_NEAR(geometry::signed_area(joined->cutouts[0].points), -30.2 * 30.2, 3) << "clockwise, the mean of both";
  EXPECT_NEAR(geometry::signed_area(joined->cutouts[1].points), -400, 2);
  EXPECT_NEAR(joined->area, width * height - 30.2 * 30.2 - 400, 5);
}

TEST(JoinPanel, FaultsOfThePhotosAreKeptButForThoseLookedForAnew) {
  const TwoPhotos photos;
  panel::Panel a = panel_of(low, high), b = a;
  a.faults = {{"outline-doubtful", Severity::warning, "", "", "", {}},
              {"thick-edge", Severity::warning, "", "", "", {}}};
  b.faults = {{"ring-open", Severity::warning, "", "", "", {}}};
  const auto joined = photos.join(a, b);
  ASSERT_TRUE(joined);
  ASSERT_EQ(joined->faults.size(), 1u);
  EXPECT_EQ(joined->faults[0].code, "thick-edge");
}

TEST(JoinPanel, ACovarianceOfAnotherNumberOfPhotosIsAnError) {
  TwoPhotos photos;
  photos.joint = Eigen::MatrixXd::Zero(survey::TableView::parameters, survey::TableView::parameters);
  const panel::Panel p = panel_of(low, high);
  EXPECT_THROW(photos.join(p, p), std::logic_error);
}

}  // namespace
}  // namespace chalkfold::trace
