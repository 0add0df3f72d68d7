// SPDX-License-Identifier: Apache-2.0
#include "pipeline/survey/table_view.h"

#include <ceres/jet.h>
#include <ceres/rotation.h>
#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <stdexcept>

#include "pipeline/survey/sensor_frame.h"
#include "tests/survey/synthetic.h"

namespace chalkfold::survey {
namespace {

constexpr int n = TableView::parameters;

TableView view_of(const Held& held, int orientation = 1) {
  TableView::Solution s;
  s.lens = usual_lens();
  s.pose = pose_of(held);
  s.quarter_turns = quarter_turns_of_orientation(orientation);
  s.width = s.quarter_turns % 2 == 0 ? s.lens.width : s.lens.height;
  s.height = s.quarter_turns % 2 == 0 ? s.lens.height : s.lens.width;
  return TableView(s);
}

TEST(TableView, GoesToTheTableAndBack) {
  constexpr double round_trip_px = 1e-8;  // the lens inverse stops at 1e-13 of 3000 px
  Random random(5);
  for (const int orientation : {1, 3, 6, 8}) {
    const TableView view = view_of({1050, 23, 60, 35}, orientation);
    for (int i = 0; i < 200; ++i) {
      const Vec2 p(random.uniform(0, view.solution().width), random.uniform(0, view.solution().height));
      const double height = random.uniform(-1, 10);
      EXPECT_LT((view.photo_from_table(view.table_from_photo(p, height), height) - p).norm(), round_trip_px);
    }
  }
}

TEST(TableView, KnowsWhereTheCameraIs) {
  const TableView view = view_of({1050, 23, 60, 35, {30, -40}});
  EXPECT_NEAR(view.tilt_deg(), 23, 1e-6);
  EXPECT_NEAR(view.camera_height(), 1050, 1e-9);
  const double reach = 1050 * std::tan(23 * M_PI / 180);
  EXPECT_LT((view.camera_foot() - Vec2(30 + reach * std::cos(M_PI / 3), -40 + reach * std::sin(M_PI / 3))).norm(),
            1e-6);
  const TableView straight = view_of({1000, 0, 0, 0});
  const Vec2 centre(usual_lens().centre_x_px, usual_lens().centre_y_px);
  EXPECT_NEAR(straight.mm_per_px(centre), 1000 / usual_lens().focal_px, 1e-6);
}

/// d table / d parameters by another route: automatic derivatives of the projection, inverted by the implicit function
/// theorem.
Eigen::Matrix<double, 2, n> jacobian_by_jets(const TableView& view, const Vec2& at_in_photo, double height) {
  using Jet = ceres::Jet<double, n + 2>;
  const TableView::Solution& s = view.solution();
  const Vec2 at = view.table_from_photo(at_in_photo, height);
  const double values[n] = {0,
                            0,
                            0,
                            s.pose.translation.x(),
                            s.pose.translation.y(),
                            s.pose.translation.z(),
                            s.lens.focal_px,
                            s.lens.centre_x_px,
                            s.lens.centre_y_px,
                            s.lens.k1,
                            s.lens.k2,
                            s.lens.p1,
                            s.lens.p2,
                            s.lens.k3};
  Jet q[n];
  for (int k = 0; k < n; ++k) q[k] = Jet(values[k], k);
  const Jet table[3] = {Jet(at.x(), n), Jet(at.y(), n + 1), Jet(height)};
  Jet turned[3], camera[3];
  for (int r = 0; r < 3; ++r) {
    turned[r] = s.pose.rotation(r, 0) * table[0] + s.pose.rotation(r, 1) * table[1] + s.pose.rotation(r, 2) * table[2];
  }
  ceres::AngleAxisRotatePoint(q, turned, camera);
  for (int r = 0; r < 3; ++r) camera[r] += q[3 + r];
  const Jet x = camera[0] / camera[2], y = camera[1] / camera[2];
  Jet xd, yd;
  calib::distort(q + 9, x, y, xd, yd);
  const Jet px[2] = {q[6] * xd + q[7], q[6] * yd + q[8]};
  Eigen::Matrix<double, 2, n + 2> all;
  for (int r = 0; r < 2; ++r) all.row(r) = px[r].v.transpose();
  return -all.rightCols<2>().inverse() * all.leftCols<n>();
}

TEST(TableView, JacobianAgreesWithAutomaticDerivatives) {
  // displacement by a parameter change worth about 1 mm; central differences are this good
  constexpr double step_mm = 1e-5;
  Random random(9);
  for (const int orientation : {1, 6}) {
    const TableView view = view_of({1050, 23, 60, 35}, orientation);
    for (int i = 0; i < 50; ++i) {
      const Vec2 p(random.uniform(0, view.solution().width), random.uniform(0, view.solution().height));
      const Eigen::Matrix<double, 2, n> found = view.jacobian_at(p, 2.5), other = jacobian_by_jets(view, p, 2.5);
      for (int k = 0; k < n; ++k) {
        const double worth_1_mm = 1 / std::max(1e-3, other.col(k).norm());
        EXPECT_LT((found.col(k) - other.col(k)).norm() * worth_1_mm, step_mm) << "parameter " << k;
      }
    }
  }
}

TEST(TableView, CovarianceOfAPointHasPictureHeightAndSurvey) {
  const TableView bare = view_of({1000, 0, 0, 0});
  const Vec2 centre(usual_lens().centre_x_px, usual_lens().centre_y_px), side = centre + Vec2(1000, 0);
  const double scale = 1000 / usual_lens().focal_px;
  // In the middle of a straight-down picture a pixel's doubt is all there is, and height moves nothing.
  const Mat2 middle = bare.covariance_at(centre, 0, 0.5, 1.0);
  EXPECT_NEAR(std::sqrt(middle(0, 0)), 0.5 * scale, 1e-4);
  EXPECT_NEAR(std::sqrt(middle(1, 1)), 0.5 * scale, 1e-4);
  // To the side, 1 mm of height moves a point by its own distance over the camera's height.
  const Vec2 at = bare.table_from_photo(side, 0);
  EXPECT_NEAR(std::sqrt(bare.covariance_at(side, 0, 0, 1.0)(0, 0)), at.norm() / 1000, 1e-4);
  TableView::Solution s = bare.solution();
  s.covariance(3, 3) = 0.04;  // 0.2 mm of camera x
  EXPECT_NEAR(std::sqrt(TableView(s).covariance_at(centre, 0, 0, 0)(0, 0)), 0.2, 1e-4);
}

TEST(TableView, ShapeSigmaForgetsRigidMotionAndKeepsHeight) {
  TableView::Solution s = view_of({1000, 0, 0, 0}).solution();
  const TrueOutline outline = panel_outline();
  s.covariance(3, 3) = s.covariance(4, 4) = 1;  // 1 mm of shift
  s.covariance(2, 2) = 1e-4;                    // 10 mrad about the optical axis: a turn of the outline
  constexpr double second_order = 0.02;         // mm, what a turn does beyond a turn through an off-centre lens
  EXPECT_LT(worst(TableView(s).shape_sigma(outline.points, outline.normals, 0, 0)), 0.02 + second_order);
  s.covariance.setZero();
  const auto by_height = TableView(s).shape_sigma(outline.points, outline.normals, 0, 2.0);
  for (std::size_t i = 0; i < by_height.size(); ++i) {
    // 2 mm of height is 0.2 % of size at 1 m.
    EXPECT_NEAR(by_height[i], 0.002 * std::abs(outline.normals[i].dot(outline.points[i])), 0.02);
  }
  EXPECT_THROW(TableView(s).shape_sigma(outline.points, {}, 0, 0), std::logic_error);
}

}  // namespace
}  // namespace chalkfold::survey
