// SPDX-License-Identifier: Apache-2.0
#include "pipeline/survey/bundle.h"

#include <gtest/gtest.h>

#include <stdexcept>

#include "calib/sheet_layout.h"
#include "pipeline/geometry/polygon.h"
#include "tests/survey/synthetic.h"

namespace chalkfold::survey {
namespace {

TEST(PoseFromPlane, IsExactForExactPoints) {
  constexpr double rounding = 1e-9;  // relative to 1000 mm and to 1 rad: direct linear transform in double precision
  Random random(21);
  for (int i = 0; i < 50; ++i) {
    const calib::Pose truth =
        pose_of({random.uniform(500, 1500), random.uniform(2, 50), random.uniform(0, 360), random.uniform(0, 360)});
    Polyline on_plane, ideal;
    for (int k = 0; k < sheet::corners_per_sheet; ++k) {
      const Vec2 p = sheet::corner(k);
      const Vec3 c = truth.rotation * Vec3(p.x(), p.y(), 0) + truth.translation;
      on_plane.push_back(p);
      ideal.push_back(c.hnormalized());
    }
    const calib::Pose found = pose_from_plane(on_plane, ideal);
    EXPECT_LT((found.rotation - truth.rotation).norm(), rounding) << i;
    EXPECT_LT((found.translation - truth.translation).norm(), 1000 * rounding) << i;
  }
}

/// One photo of one sheet with the usual lens.
Bundle one_photo(const calib::Lens& lens, const calib::Pose& pose) {
  Bundle bundle;
  bundle.lenses.emplace_back();
  bundle.lenses[0].value = {lens.focal_px, 1,       0,       lens.centre_x_px, lens.centre_y_px,
                            lens.k1,       lens.k2, lens.p1, lens.p2,          lens.k3};
  bundle.photos.push_back({0, 0, pose});
  bundle.boards.push_back({0, 1, Vec2(20, -30), 0.2, true});
  return bundle;
}

TEST(BundleResidual, IsObservedMinusPredictedOfTheSharedLensModel) {
  constexpr double rounding_px = 1e-9;
  const calib::Lens lens = usual_lens();
  const calib::Pose pose = pose_of({1000, 20, 70, 15});
  const Bundle bundle = one_photo(lens, pose);
  const Vec2 on_board(54, -36), off(0.25, -0.5);
  const Vec2 at = geometry::Rigid2{0.2, Vec2(20, -30)} * on_board;
  const Vec2 predicted = calib::photo_from_table(lens, pose, {at.x(), at.y(), 0});
  EXPECT_LT((bundle_residual(bundle, {0, 0, on_board, predicted + off}) - off).norm(), rounding_px);
}

TEST(EffectiveLens, CarriesThePhotosOwnFocusAndShift) {
  Bundle bundle = one_photo(usual_lens(), pose_of({}));
  bundle.photos[0].focal_change = 0.01;
  bundle.photos[0].centre_shift = Vec2(3, -4);
  const calib::Lens lens = effective_lens(bundle, 0, 4032, 3024);
  EXPECT_DOUBLE_EQ(lens.focal_px, usual_lens().focal_px * 1.01);
  EXPECT_DOUBLE_EQ(lens.centre_x_px, usual_lens().centre_x_px + 3);
  EXPECT_DOUBLE_EQ(lens.centre_y_px, usual_lens().centre_y_px - 4);
  EXPECT_DOUBLE_EQ(lens.k3, usual_lens().k3);
  bundle.lenses[0].value[BundleLens::skew] = 1e-3;
  EXPECT_THROW(effective_lens(bundle, 0, 4032, 3024), std::logic_error);
}

TEST(PhotoCovariances, AreEmptyWhenTheCornersCannotTell) {
  // A camera straight above four points of one line of sight each, everything free and no prior.
  Bundle bundle = one_photo(usual_lens(), pose_of({}));
  bundle.breathing_sigma = bundle.stabiliser_sigma_px = 0;
  for (const int k : {0, 3, 20, 23}) {
    Bundle at = bundle;
    const Vec2 predicted = -bundle_residual(at, {0, 0, sheet::corner(k), Vec2::Zero()});
    bundle.observations.push_back({0, 0, sheet::corner(k), predicted});
  }
  EXPECT_TRUE(bundle_covariances(bundle).photos.empty());
}

}  // namespace
}  // namespace chalkfold::survey
