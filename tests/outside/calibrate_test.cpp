// SPDX-License-Identifier: Apache-2.0
// The whole survey against OpenCV's calibration and pose solvers on the same observations.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <opencv2/calib3d.hpp>

#include "calib/sheet_layout.h"
#include "pipeline/survey/survey.h"
#include "tests/survey/synthetic.h"

namespace chalkfold {
namespace {

/// Noisy photos of one sheet each, and the same as OpenCV takes them (sheet frame, z = 0).
struct SameObservations {
  std::vector<capture::Sighting> sightings;
  std::vector<std::vector<cv::Point3f>> on_sheet;
  std::vector<std::vector<cv::Point2f>> in_photo;
};

SameObservations eight_photos(double noise_px) {
  SameObservations all;
  survey::Random random(33);
  for (int i = 0; i < 8; ++i) {
    const survey::Held held{random.uniform(330, 420), random.uniform(15, 40), 45.0 * i, random.uniform(0, 360),
                            Vec2(random.uniform(-20, 20), random.uniform(-20, 20))};
    capture::Sighting s =
        survey::sight({survey::usual_lens(), survey::pose_of(held)}, {{1, Vec2::Zero(), 0}}, noise_px);
    survey::add_noise(s, noise_px, random);
    all.on_sheet.emplace_back();
    all.in_photo.emplace_back();
    for (capture::CornerSighting& c : s.sheets.at(0).corners) {
      // Single precision, as OpenCV takes them, for both.
      const cv::Point2f p(static_cast<float>(c.at_in_photo.x()), static_cast<float>(c.at_in_photo.y()));
      c.at_in_photo = Vec2(p.x, p.y);
      all.on_sheet.back().emplace_back(static_cast<float>(sheet::corner(c.corner).x()),
                                       static_cast<float>(sheet::corner(c.corner).y()), 0.0f);
      all.in_photo.back().push_back(p);
    }
    all.sightings.push_back(s);
  }
  return all;
}

constexpr double no_priors = 1e4;  // times wider than a phone's

// Both solve the same least squares to its bottom; what is left is where each stops, and priors far too wide to count.
constexpr double same_bottom_px = 0.05, same_bottom_mm = 0.02, same_bottom_rad = 5e-5;

TEST(Calibrate, SurveyFindsTheLensThatOpencvFinds) {
  const SameObservations same = eight_photos(0.1);
  const survey::Survey survey = survey::solve_survey(same.sightings, survey::corners_decide(no_priors));
  cv::Mat camera = (cv::Mat_<double>(3, 3) << 3000, 0, 2015.5, 0, 3000, 1511.5, 0, 0, 1),
          terms = cv::Mat::zeros(1, 5, CV_64F);
  std::vector<cv::Mat> turns, shifts;
  const int how = cv::CALIB_USE_INTRINSIC_GUESS | cv::CALIB_FIX_ASPECT_RATIO;
  const double rms_px = cv::calibrateCamera(same.on_sheet, same.in_photo, {4032, 3024}, camera, terms, turns, shifts,
                                            how, {cv::TermCriteria::EPS | cv::TermCriteria::COUNT, 500, 1e-14});
  const calib::Lens& lens = survey.lenses.at(0);
  fmt::print(
      "focal {:.4f} / {:.4f} px, centre {:.3f} {:.3f} / {:.3f} {:.3f}, k1 {:.5f} / {:.5f}, rms {:.5f} / {:.5f} px "
      "(survey / OpenCV)\n",
      lens.focal_px, camera.at<double>(0, 0), lens.centre_x_px, lens.centre_y_px, camera.at<double>(0, 2),
      camera.at<double>(1, 2), lens.k1, terms.at<double>(0), survey.reprojection_rms_px, rms_px);
  EXPECT_NEAR(lens.focal_px, camera.at<double>(0, 0), same_bottom_px);
  EXPECT_NEAR(lens.centre_x_px, camera.at<double>(0, 2), same_bottom_px);
  EXPECT_NEAR(lens.centre_y_px, camera.at<double>(1, 2), same_bottom_px);
  EXPECT_NEAR(survey.reprojection_rms_px, rms_px, 1e-5);
  // The terms themselves trade off against each other; what they do together at the picture's corner must agree.
  const calib::Lens other{4032,
                          3024,
                          camera.at<double>(0, 0),
                          camera.at<double>(0, 2),
                          camera.at<double>(1, 2),
                          terms.at<double>(0),
                          terms.at<double>(1),
                          terms.at<double>(2),
                          terms.at<double>(3),
                          terms.at<double>(4)};
  for (const Vec2& ideal : {Vec2(0.3, 0.2), Vec2(-0.45, 0.35), Vec2(0.5, -0.4)}) {
    EXPECT_LT((calib::photo_from_ideal(lens, ideal) - calib::photo_from_ideal(other, ideal)).norm(),
              2 * same_bottom_px);
  }
}

TEST(Calibrate, SurveyFindsThePosesThatSolvePnpFinds) {
  const SameObservations same = eight_photos(0.1);
  const survey::Survey survey = survey::solve_survey(same.sightings, survey::corners_decide(no_priors));
  for (std::size_t i = 0; i < same.sightings.size(); ++i) {
    ASSERT_TRUE(survey.views[i]);
    const survey::TableView::Solution& s = survey.views[i]->solution();
    const cv::Mat camera = (cv::Mat_<double>(3, 3) << s.lens.focal_px, 0, s.lens.centre_x_px, 0, s.lens.focal_px,
                            s.lens.centre_y_px, 0, 0, 1);
    const cv::Mat terms = (cv::Mat_<double>(1, 5) << s.lens.k1, s.lens.k2, s.lens.p1, s.lens.p2, s.lens.k3);
    cv::Mat turn, shift, rotation;
    ASSERT_TRUE(cv::solvePnP(same.on_sheet[i], same.in_photo[i], camera, terms, turn, shift));
    cv::solvePnPRefineLM(same.on_sheet[i], same.in_photo[i], camera, terms, turn, shift);
    cv::Rodrigues(turn, rotation);
    // camera_from_sheet = camera_from_table after table_from_sheet.
    const survey::SheetPlace& place = s.sheets.at(0);
    Mat3 table_turn = Mat3::Identity(), other;
    table_turn.topLeftCorner<2, 2>() << std::cos(place.theta), -std::sin(place.theta), std::sin(place.theta),
        std::cos(place.theta);
    for (int k = 0; k < 9; ++k) other(k / 3, k % 3) = rotation.at<double>(k / 3, k % 3);
    const Vec3 centre = s.pose.rotation * Vec3(place.centre.x(), place.centre.y(), 0) + s.pose.translation;
    EXPECT_LT((s.pose.rotation * table_turn - other).norm(), same_bottom_rad) << i;
    EXPECT_LT((centre - Vec3(shift.at<double>(0), shift.at<double>(1), shift.at<double>(2))).norm(), same_bottom_mm)
        << i;
  }
}

}  // namespace
}  // namespace chalkfold
