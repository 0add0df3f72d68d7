// SPDX-License-Identifier: Apache-2.0
#include "pipeline/capture/saddle_corner.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <cmath>
#include <numbers>
#include <opencv2/imgproc.hpp>

#include "tests/survey/synthetic.h"

namespace chalkfold::capture {
namespace {

/// A corner drawn without the model's help: sharp quadrants sampled finely, light blurred numerically, each pixel's area
/// averaged.
struct DrawnCorner {
  Vec2 centre = Vec2(40.3, 39.7);        // px
  Mat2 photo_from_sheet = Mat2::Zero();  // px per mm
  double blur_px = 0.8;
  double black = 0.05, white = 0.75;  // linear light
  bool coded = false;                 // sRGB curve, or values proportional to light
};

cv::Mat draw(const DrawnCorner& c) {
  constexpr int fine = 15, side = 81;  // samples a pixel, pixels
  cv::Mat light(side * fine, side * fine, CV_32F);
  const Mat2 sheet_from_photo = c.photo_from_sheet.inverse();
  for (int y = 0; y < light.rows; ++y) {
    for (int x = 0; x < light.cols; ++x) {
      const Vec2 p((x + 0.5) / fine - 0.5, (y + 0.5) / fine - 0.5);
      const Vec2 s = sheet_from_photo * (p - c.centre);
      // A sample on an edge belongs to neither side: given to one, all of them would shift the corner.
      constexpr double on_edge = 1e-9;  // mm
      const double side_of = std::abs(s.x()) < on_edge || std::abs(s.y()) < on_edge ? 0.5 : s.x() * s.y() > 0 ? 1 : 0;
      light.at<float>(y, x) = static_cast<float>(c.black + side_of * (c.white - c.black));
    }
  }
  cv::GaussianBlur(light, light, {}, c.blur_px * fine, c.blur_px * fine, cv::BORDER_REPLICATE);
  cv::resize(light, light, {side, side}, 0, 0, cv::INTER_AREA);
  cv::Mat grey(side, side, CV_32F);
  for (int i = 0; i < side * side; ++i) {
    const double v = static_cast<double>(light.at<float>(i / side, i % side));
    grey.at<float>(i / side, i % side) =
        static_cast<float>(255 * (!c.coded         ? v
                                  : v <= 0.0031308 ? 12.92 * v
                                                   : 1.055 * std::pow(v, 1 / 2.4) - 0.055));
  }
  return grey;
}

cv::Mat quantised(const cv::Mat& grey, double noise, survey::Random& random) {
  cv::Mat out(grey.size(), CV_8U);
  for (int i = 0; i < static_cast<int>(grey.total()); ++i) {
    const double v =
        static_cast<double>(grey.at<float>(i / grey.cols, i % grey.cols)) + (noise > 0 ? random.normal(noise) : 0);
    out.at<unsigned char>(i / grey.cols, i % grey.cols) = cv::saturate_cast<unsigned char>(v);
  }
  return out;
}

/// px per mm map: a scale, a turn, and a slant of the sheet's y direction.
Mat2 sheet_map(double px_per_mm, double turn_deg, double slant) {
  const double a = turn_deg * std::numbers::pi / 180;
  Mat2 turn, shear;
  turn << std::cos(a), -std::sin(a), std::sin(a), std::cos(a);
  shear << 1, slant, 0, -0.9;  // the sheet's y runs up the page, the photo's down
  return px_per_mm * turn * shear;
}

SaddleStart start_near(const DrawnCorner& c, const Vec2& off) {
  SaddleStart start;
  start.centre = c.centre + off;
  start.photo_from_sheet = c.photo_from_sheet;
  return start;
}

struct Case {
  double blur_px, turn_deg, slant;
};

class SaddleCorner : public testing::TestWithParam<Case> {};
INSTANTIATE_TEST_SUITE_P(BlurAndTurn, SaddleCorner,
                         testing::Values(Case{0.5, 0, 0}, Case{0.5, 30, 0.2}, Case{0.8, 7, 0}, Case{0.8, 45, -0.3},
                                         Case{1.2, 90, 0.1}, Case{1.2, 133, 0.3}, Case{2.0, 20, 0},
                                         Case{2.0, 200, -0.2}, Case{3.0, 60, 0.1}, Case{3.0, 310, 0}),
                         [](const auto& c) {
                           return fmt::format("blur{}turn{}", static_cast<int>(10 * c.param.blur_px),
                                              static_cast<int>(c.param.turn_deg));
                         });

TEST_P(SaddleCorner, FindsTheCentreInAQuietPicture) {
  constexpr double quantised_px = 0.01;  // rounding to whole codes leaves a few thousandths
  survey::Random random(1);
  const DrawnCorner c{Vec2(40.3, 39.7), sheet_map(4.0, GetParam().turn_deg, GetParam().slant), GetParam().blur_px};
  const SaddleFit fit = fit_saddle(quantised(draw(c), 0, random), start_near(c, Vec2(0.9, -0.7)));
  ASSERT_TRUE(fit.ok);
  EXPECT_LT((fit.centre - c.centre).norm(), quantised_px);
  // A pixel's own area adds 1/12 px2 to the blur's square; crossing at a slant the product of two edges is not exact.
  EXPECT_NEAR(fit.blur_px, std::hypot(c.blur_px, std::sqrt(1.0 / 12)), 0.1 * c.blur_px);
  EXPECT_NEAR(fit.contrast, 255 * 0.5 * (c.white - c.black), 3);
}

TEST_P(SaddleCorner, KeepsTheCentreUnderAToneCurve) {
  constexpr double coded_px = 0.02;
  survey::Random random(1);
  DrawnCorner c{Vec2(40.3, 39.7), sheet_map(4.0, GetParam().turn_deg, GetParam().slant), GetParam().blur_px};
  c.coded = true;
  const cv::Mat picture = quantised(draw(c), 0, random);
  // Twice, as find_sheets does: an off-centre window spoils the half-turn symmetry that a tone curve leaves.
  const SaddleFit first = fit_saddle(picture, start_near(c, Vec2(0.5, 0.5)));
  ASSERT_TRUE(first.ok);
  const SaddleFit fit = fit_saddle(picture, start_near(c, first.centre - c.centre));
  ASSERT_TRUE(fit.ok);
  EXPECT_LT((fit.centre - c.centre).norm(), coded_px);
}

TEST(SaddleCornerNoise, SigmaIsTheSpreadOfNoisyFits) {
  constexpr double honest = 0.15;  // 300 draws of two axes scatter by 3 %; whole codes and the window's rim do the rest
  survey::Random random(17);
  const DrawnCorner c{Vec2(40.3, 39.7), sheet_map(3.0, 25, 0.1), 0.9};
  const cv::Mat quiet = draw(c);
  std::vector<double> errors, said;
  for (int i = 0; i < 300; ++i) {
    const SaddleFit fit = fit_saddle(quantised(quiet, 5, random), start_near(c, Vec2(0.4, 0.3)));
    ASSERT_TRUE(fit.ok);
    errors.push_back(fit.centre.x() - c.centre.x());
    errors.push_back(fit.centre.y() - c.centre.y());
    said.push_back(fit.sigma_px);
  }
  fmt::print("corner noise: real {:.4f} px, said {:.4f} px\n", survey::rms(errors), survey::rms(said));
  EXPECT_NEAR(survey::rms(said) / survey::rms(errors), 1, honest);
}

TEST(SaddleCornerRefusal, RefusesWhatIsNoCorner) {
  const DrawnCorner c{Vec2(40.3, 39.7), sheet_map(4.0, 10, 0), 0.8};
  survey::Random random(2);
  const cv::Mat picture = quantised(draw(c), 0, random);
  SaddleStart wrong_sign = start_near(c, Vec2(0, 0));
  wrong_sign.first_sign = -1;
  EXPECT_FALSE(fit_saddle(picture, wrong_sign).ok) << "white where black is printed";
  EXPECT_FALSE(fit_saddle(picture, start_near(c, Vec2(30, 0))).ok) << "window beyond the picture";
  EXPECT_FALSE(fit_saddle(cv::Mat(81, 81, CV_8U, cv::Scalar(128)), start_near(c, Vec2(0, 0))).ok) << "an even grey";
  cv::Mat noise(81, 81, CV_8U, cv::Scalar(128));
  for (int i = 0; i < 81 * 81; ++i)
    noise.at<unsigned char>(i / 81, i % 81) = cv::saturate_cast<unsigned char>(128 + random.normal(30));
  EXPECT_FALSE(fit_saddle(noise, start_near(c, Vec2(0, 0))).ok) << "noise";
}

}  // namespace
}  // namespace chalkfold::capture
