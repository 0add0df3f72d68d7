// SPDX-License-Identifier: Apache-2.0
#include "calib/lens_profile.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <string>
#include <utility>

#include "pipeline/common/error.h"

namespace chalkfold::calib {
namespace {

using Covariance = Eigen::Matrix<double, LensProfile::parameters, LensProfile::parameters>;

LensProfile usual_profile() {
  LensProfile p;
  p.make = "Example";
  p.model = "Phone \"one\" \xC3\xA9";
  p.focal_mm = 5.1;
  p.focal_35mm = 26;
  p.digital_zoom = 1;
  p.lens = {4032, 3024, 3023.4567890123, 2017.1, 1510.9, 0.051, -0.123, 2e-4, -1e-4, 0.071};
  Covariance root = Covariance::Zero();
  const double sigmas[] = {4, 3, 2, 1e-3, 3e-3, 2e-5, 3e-5, 2e-3};
  for (int i = 0; i < LensProfile::parameters; ++i) {
    root(i, i) = sigmas[i];
    if (i > 0) root(i, i - 1) = 0.4 * sigmas[i];  // some correlation, as a solution has
  }
  p.covariance = root * root.transpose();
  p.photos = 12;
  p.reprojection_rms_px = 0.083;
  return p;
}

std::string with(const std::string& from, const std::string& to) {
  std::string text = lens_profile_json(usual_profile());
  const auto at = text.find(from);
  EXPECT_NE(at, std::string::npos) << from;
  return at == std::string::npos ? text : text.replace(at, from.size(), to);
}

std::string complaint(const std::string& text) {
  try {
    read_lens_profile(text, "phone.lens.json");
  } catch (const UsageError& e) {
    return e.what();
  }
  return "";
}

TEST(LensProfile, ReadsBackWhatItWroteToTheLastDigit) {
  const LensProfile p = usual_profile();
  const LensProfile q = read_lens_profile(lens_profile_json(p), "phone.lens.json");
  EXPECT_EQ(q.make, p.make);
  EXPECT_EQ(q.model, p.model);
  EXPECT_EQ(q.focal_mm, p.focal_mm);
  EXPECT_EQ(q.focal_35mm, p.focal_35mm);
  EXPECT_EQ(q.digital_zoom, p.digital_zoom);
  EXPECT_EQ(q.lens.width, p.lens.width);
  EXPECT_EQ(q.lens.height, p.lens.height);
  EXPECT_EQ(parameters_of(q.lens), parameters_of(p.lens));
  EXPECT_EQ(q.covariance, p.covariance);
  EXPECT_EQ(q.photos, p.photos);
  EXPECT_EQ(q.reprojection_rms_px, p.reprojection_rms_px);
  EXPECT_EQ(lens_profile_json(q), lens_profile_json(p));
}

TEST(LensProfile, ComplaintsNameTheFileTheKeyAndWhatToDo) {
  const std::pair<std::string, std::string> cases[] = {
      {with("chalkfold-lens-1", "chalkfold-lens-2"), "no lens profile"},
      {with("\"focal_px\": 3023", "\"focal_px\": \"x\", \"was\": 3023"), "lens.was"},
      {with("\"focal_px\": 3023", "\"focal_px\": -3023"), "lens.focal_px"},
      {with("\"width\": 4032", "\"width\": 0"), "lens.width"},
      {with("\"width\": 4032", "\"width\": 4032.5"), "lens.width"},
      {with("\"k3\": 0.071", "\"k3\": null"), "lens.k3"},
      {with("\"photos\": 12", "\"photos\": 1.5"), "photos"},
      {with("\"model\"", "\"modell\""), "did you mean model?"},
      {with("\"make\": \"Example\"", "\"make\": 3"), "phone.make"},
      {with("\"covariance\": [", "\"covariance\": [[1], "), "covariance"},
      {with("\"reprojection_rms_px\"", "\"reprojection_rms\""), "did you mean reprojection_rms_px?"},
      {"{", "no lens profile"},
      {"[]", "no lens profile"},
      {"", "no lens profile"},
  };
  for (const auto& [text, key] : cases) {
    const std::string said = complaint(text);
    EXPECT_NE(said.find("phone.lens.json"), std::string::npos) << key << ": " << said;
    EXPECT_NE(said.find(key), std::string::npos) << key << ": " << said;
  }
}

TEST(LensProfile, RefusesACovarianceThatIsNone) {
  LensProfile p = usual_profile();
  p.covariance(0, 1) = p.covariance(1, 0) = 2 * std::sqrt(p.covariance(0, 0) * p.covariance(1, 1));
  EXPECT_NE(complaint(lens_profile_json(p)).find("covariance"), std::string::npos) << "not positive definite";
  p = usual_profile();
  p.covariance(0, 1) *= 1.01;
  EXPECT_NE(complaint(lens_profile_json(p)).find("symmetric"), std::string::npos);
  p = usual_profile();
  p.covariance(3, 3) = 0;
  EXPECT_NE(complaint(lens_profile_json(p)).find("covariance"), std::string::npos) << "a term without doubt";
}

TEST(LensProfile, CornerSigmaIsWhatTheRadialTermsDoThere) {
  LensProfile p = usual_profile();
  p.lens = {4033, 3025, 3000, 2016, 1512, 0, 0, 0, 0, 0};  // the corner's ideal radius is 2520 / 3000
  p.covariance = Covariance::Identity() * 1e-30;
  p.covariance(3, 3) = 1e-6;  // k1 moves the corner by f * radius^3 * sigma
  constexpr double rounding_px = 1e-9;
  EXPECT_NEAR(corner_distortion_sigma_px(p), 3000 * std::pow(0.84, 3) * 1e-3, rounding_px);
  // Terms that balance each other at the corner leave nothing to doubt there.
  const double r2 = 0.84 * 0.84;
  p.covariance(4, 4) = 1e-6 / (r2 * r2);
  p.covariance(3, 4) = p.covariance(4, 3) = -1e-6 / r2;
  EXPECT_NEAR(corner_distortion_sigma_px(p), 0, 1e-6);
}

TEST(RadialDistortion, IsTheWayFromTheUndistortedPlace) {
  Lens lens = usual_profile().lens;
  lens.p1 = lens.p2 = 0;
  constexpr double rounding_px = 1e-9;
  for (const double r : {0.0, 0.3, 0.83}) {
    const Vec2 seen = photo_from_ideal(lens, {r, 0});
    EXPECT_NEAR(radial_distortion_px(lens, r), seen.x() - (lens.centre_x_px + lens.focal_px * r), rounding_px);
  }
}

}  // namespace
}  // namespace chalkfold::calib
