// SPDX-License-Identifier: Apache-2.0
#include "pipeline/survey/joint_shape.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "pipeline/geometry/polygon.h"
#include "tests/survey/synthetic.h"

namespace chalkfold::survey {
namespace {

constexpr double corner_noise_px = 0.1;

/// Two photos of one setup from different sides; the lens is usual_lens, known as EXIF gives it.
struct TwoPhotos {
  std::vector<TrueCamera> cameras = {{usual_lens(), pose_of({1050, 12, 20, 0, {-60, 0}})},
                                     {usual_lens(), pose_of({1000, 18, 190, 90, {70, 10}})}};
  TrueOutline outline = panel_outline();

  Survey survey(double noise, Random& random) const {
    std::vector<capture::Sighting> sightings;
    for (const TrueCamera& camera : cameras) {
      sightings.push_back(sight(camera, sheets_around(3), corner_noise_px));
      add_noise(sightings.back(), noise, random);
    }
    return solve_survey(sightings, corners_decide());
  }
  Polyline mapped(const Survey& survey, std::size_t view) const {
    Polyline points;
    for (const Vec2& p : outline.points)
      points.push_back(survey.views[view]->table_from_photo(seen_at(cameras[view], p, 0), 0));
    return points;
  }
  /// The table frame's own place is the survey's choice.
  Polyline normals_on(const Polyline& mapped) const {
    const geometry::Rigid2 turn{geometry::fit_rigid(outline.points, mapped).angle, Vec2::Zero()};
    Polyline normals;
    for (const Vec2& v : outline.normals) normals.push_back(turn * v);
    return normals;
  }
};

SharedView shared(const Survey& survey, std::size_t view, std::vector<double> weights) {
  return {&*survey.views[view], {}, 0, std::move(weights)};
}

TEST(JointShape, OfOneViewIsItsShapeSigma) {
  const TwoPhotos photos;
  Random random(1);
  const Survey survey = photos.survey(0, random);
  const Polyline points = photos.mapped(survey, 0), normals = photos.normals_on(points);
  const std::vector<double> ones(points.size(), 1.0);
  const std::size_t first[] = {0};
  const JointShape joint =
      joint_shape({shared(survey, 0, ones)}, joint_covariance(survey, first), points, normals, 1.1, 0.1);
  const std::vector<double> alone = survey.views[0]->shape_sigma(points, normals, 1.1, 0.1);
  constexpr double same_mm = 1e-6;  // two routes through numerical derivatives
  for (std::size_t i = 0; i < alone.size(); ++i) {
    EXPECT_NEAR(joint.sigma[i], alone[i], same_mm) << i;
    EXPECT_NEAR(joint.apart[0][i], 0, same_mm) << "one view is its own mean";
  }
}

TEST(JointShape, TwoViewsOfOneSetupErrAsItSays) {
  const TwoPhotos photos;
  Random random(11);
  const std::size_t n = photos.outline.points.size();
  // The first photo shows the left half, the second the right, both a strip between.
  std::vector<std::vector<double>> weights(2, std::vector<double>(n));
  for (std::size_t i = 0; i < n; ++i) {
    weights[1][i] = std::clamp((photos.outline.points[i].x() + 150) / 300, 0.0, 1.0);
    weights[0][i] = 1 - weights[1][i];
  }
  constexpr int trials = 120;
  std::vector<double> real, said, apart_real, apart_said;
  for (int t = 0; t < trials; ++t) {
    const Survey survey = photos.survey(corner_noise_px, random);
    ASSERT_TRUE(survey.views[0] && survey.views[1]);
    ASSERT_EQ(survey.setup_of_sighting[0], survey.setup_of_sighting[1]);
    const Polyline a = photos.mapped(survey, 0), b = photos.mapped(survey, 1);
    Polyline joined;
    for (std::size_t i = 0; i < n; ++i) joined.push_back(weights[0][i] * a[i] + weights[1][i] * b[i]);
    const Polyline normals = photos.normals_on(joined);
    const std::size_t both[] = {0, 1};
    const JointShape shape = joint_shape({shared(survey, 0, weights[0]), shared(survey, 1, weights[1])},
                                         joint_covariance(survey, both), joined, normals, 0, 0);
    real.push_back(rms(shape_error(photos.outline, joined)));
    said.push_back(rms(shape.sigma));
    for (std::size_t v = 0; v < 2; ++v)
      for (std::size_t i = 0; i < n; ++i) {
        if (weights[v][i] <= 0) {
          EXPECT_EQ(shape.apart[v][i], 0);
          continue;
        }
        apart_real.push_back(normals[i].dot((v == 0 ? a : b)[i] - joined[i]));
        apart_said.push_back(shape.apart[v][i]);
      }
  }
  fmt::print("two views, {} trials: joined real {:.4f} said {:.4f} mm, apart real {:.4f} said {:.4f} mm\n", trials,
             rms(real), rms(said), rms(apart_real), rms(apart_said));
  constexpr double honest = 0.25;  // the rms over the trials scatters by some 5 %, and by what is not linear
  EXPECT_NEAR(rms(real) / rms(said), 1, honest);
  EXPECT_NEAR(rms(apart_real) / rms(apart_said), 1, honest);
}

TEST(JointShape, WhatDoesNotBelongTogetherIsRefused) {
  EXPECT_THROW(joint_shape({}, Eigen::MatrixXd::Zero(14, 14), {{0, 0}}, {{1, 0}}, 0, 0), std::logic_error);
}

}  // namespace
}  // namespace chalkfold::survey
