// SPDX-License-Identifier: Apache-2.0
// Our least-squares core against the classic published calibration of a planar pattern.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include "pipeline/survey/bundle.h"
#include "tests/outside/zhang_figures.h"

namespace chalkfold {
namespace {

survey::Bundle bundle_of_figures(double rough_focal_px) {
  survey::Bundle bundle;
  survey::BundleLens lens;
  lens.value = {rough_focal_px, 1, 0, 320, 240, 0, 0, 0, 0, 0};
  lens.fixed.fill(false);
  lens.fixed[survey::BundleLens::p1] = lens.fixed[survey::BundleLens::p2] = lens.fixed[survey::BundleLens::k3] = true;
  bundle.lenses = {lens};
  bundle.breathing_sigma = bundle.stabiliser_sigma_px = bundle.robust_sigmas = 0;
  for (int view = 0; view < zhang::views; ++view) {
    Polyline on_plane, ideal;
    for (int s = 0; s < zhang::squares; ++s) {
      for (int k = 0; k < 4; ++k) {
        const Vec2 p(zhang::plane[s][2 * k], zhang::plane[s][2 * k + 1]);
        const Vec2 at(zhang::pixels[view][s][2 * k], zhang::pixels[view][s][2 * k + 1]);
        on_plane.push_back(p);
        ideal.push_back((at - Vec2(320, 240)) / rough_focal_px);
        bundle.observations.push_back({view, view, p, at, 1.0});
      }
    }
    bundle.photos.push_back({0, view, survey::pose_from_plane(on_plane, ideal)});
    bundle.boards.push_back({view, 1, Vec2::Zero(), 0, true});
  }
  return bundle;
}

class ZhangFigures : public testing::TestWithParam<double> {};
INSTANTIATE_TEST_SUITE_P(RoughFocal, ZhangFigures, testing::Values(700.0, 1000.0));

TEST_P(ZhangFigures, GiveThePublishedLens) {
  survey::Bundle bundle = bundle_of_figures(GetParam());
  ASSERT_TRUE(survey::solve_bundle(bundle, survey::BundleStage::poses).ok);
  const survey::BundleResult result = survey::solve_bundle(bundle, survey::BundleStage::all);
  ASSERT_TRUE(result.ok) << result.why;
  const auto& v = bundle.lenses[0].value;
  fmt::print("alpha {:.4f} gamma {:.6f} beta {:.4f} u0 {:.4f} v0 {:.4f} k1 {:.6f} k2 {:.6f} rms {:.4f} px\n",
             v[survey::BundleLens::focal], v[survey::BundleLens::skew],
             v[survey::BundleLens::focal] * v[survey::BundleLens::aspect], v[survey::BundleLens::centre_x],
             v[survey::BundleLens::centre_y], v[survey::BundleLens::k1], v[survey::BundleLens::k2], result.rms_px);
  constexpr double published_px = 1e-2;  // six digits were published; the author's solver stopped a little short
  constexpr double published_skew_px = 1e-4, published_radial = 1e-4;
  EXPECT_NEAR(v[survey::BundleLens::focal], zhang::alpha, published_px);
  EXPECT_NEAR(v[survey::BundleLens::focal] * v[survey::BundleLens::aspect], zhang::beta, published_px);
  EXPECT_NEAR(v[survey::BundleLens::skew], zhang::gamma, published_skew_px);
  EXPECT_NEAR(v[survey::BundleLens::centre_x], zhang::u0, published_px);
  EXPECT_NEAR(v[survey::BundleLens::centre_y], zhang::v0, published_px);
  EXPECT_NEAR(v[survey::BundleLens::k1], zhang::k1, published_radial);
  EXPECT_NEAR(v[survey::BundleLens::k2], zhang::k2, published_radial);
  EXPECT_NEAR(result.rms_px, 0.3364, 1e-4);  // of a fit with the same unknowns by another program
}

}  // namespace
}  // namespace chalkfold
