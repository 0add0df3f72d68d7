// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/chalk/ridge_field.h"

#include <gtest/gtest.h>

#include <cmath>
#include <opencv2/imgproc.hpp>
#include <opencv2/ximgproc/ridgefilter.hpp>

#include "pipeline/trace/chalk/crest_chain.h"

namespace chalkfold::trace {
namespace {

constexpr int size = 120;
constexpr double sigma_px = 1.8;

/// A Gaussian line through `through` px along `angle`, its crest 1 high and `line_sigma` px wide.
cv::Mat gaussian_line(const Vec2& through, double angle, double line_sigma) {
  cv::Mat m(size, size, CV_32FC1);
  const Vec2 normal(-std::sin(angle), std::cos(angle));
  for (int y = 0; y < size; ++y) {
    for (int x = 0; x < size; ++x) {
      const double d = (Vec2(x, y) - through).dot(normal);
      m.at<float>(y, x) = static_cast<float>(std::exp(-0.5 * d * d / (line_sigma * line_sigma)));
    }
  }
  return m;
}

cv::Mat three(const cv::Mat& one, double a, double b, double c) {
  cv::Mat out;
  cv::merge(std::vector<cv::Mat>{a * one, b * one, c * one}, out);
  return out;
}

/// Worst distance, px, of the crest points near the middle of the picture from the line.
double worst_off(const std::vector<CrestPoint>& points, const Vec2& through, double angle) {
  const Vec2 normal(-std::sin(angle), std::cos(angle));
  double worst = 0;
  int seen = 0;
  for (const CrestPoint& p : points) {
    if ((p.at - Vec2(size / 2.0, size / 2.0)).norm() > 35) continue;
    worst = std::max(worst, std::abs((p.at - through).dot(normal)));
    ++seen;
  }
  return seen > 40 ? worst : 1e9;
}

}  // namespace

// The line's centre is known in closed form: the reference that the issue of sub-pixel ridges is judged by.
TEST(RidgeField, CrestsLieOnAKnownGaussianLine) {
  constexpr double tenth_px = 0.1;
  // a line of any colour has a valley on each side, not half as strong as its crest of 0.5
  constexpr double above_side_lobes = 0.35;
  for (const double angle : {0.0, 0.3, 0.7, 1.1, 1.5708, 2.4}) {
    for (const double shift : {0.0, 0.23, 0.5, 0.81}) {
      const Vec2 through(60 + shift, 60 - 0.6 * shift);
      const cv::Mat line = gaussian_line(through, angle, 1.7);
      EXPECT_LT(worst_off(crest_points(colour_ridges(three(line, 0.6, -0.3, 0.9), sigma_px), above_side_lobes), through,
                          angle),
                tenth_px)
          << angle << " " << shift;
      EXPECT_LT(worst_off(crest_points(long_ridges(line, sigma_px, 5), 0.05), through, angle), tenth_px)
          << angle << " " << shift;
    }
  }
}

// An independent implementation: OpenCV's ximgproc ridge filter must be strongest where ours says the crest is.
TEST(RidgeField, AgreesWithOpenCvsRidgeFilter) {
  const double angle = 0.6;
  const cv::Mat line = gaussian_line({60.3, 59.8}, angle, 2);
  cv::Mat eight, ridges;
  cv::Mat(255 * line).convertTo(eight, CV_8U);
  cv::ximgproc::RidgeDetectionFilter::create(CV_32FC1, 1, 1, 3, CV_8UC1, 1, 0)
      ->getRidgeFilteredImage(255 - eight, ridges);  // it answers to dark lines
  const Vec2 normal(-std::sin(angle), std::cos(angle));
  int seen = 0;
  for (const CrestPoint& p : crest_points(colour_ridges(three(line, 1, 0, 0), sigma_px), 0.2)) {
    if ((p.at - Vec2(60, 60)).norm() > 30) continue;
    double weight = 0,
           moment = 0;  // it answers in whole pixels and saturates around the crest: the middle of its answer counts
    for (double d = -4; d <= 4; d += 0.25) {
      const Vec2 q = p.at + d * normal;
      const double v = ridges.at<unsigned char>(cvRound(q.y()), cvRound(q.x()));
      weight += v;
      moment += v * d;
    }
    ASSERT_GT(weight, 0);
    constexpr double half_px = 0.5;
    EXPECT_LE(std::abs(moment / weight), half_px);
    ++seen;
  }
  EXPECT_GT(seen, 30);
}

TEST(RidgeField, IsZeroWhereNothingIsAndKnowsLightFromDark) {
  const cv::Mat flat(size, size, CV_32FC1, cv::Scalar(3));
  double low = 0, high = 0;
  cv::minMaxLoc(long_ridges(flat, sigma_px, 5).strength, &low, &high);
  EXPECT_NEAR(high, 0, 1e-5);
  const cv::Mat line = gaussian_line({60, 60}, 0.4, 2);
  EXPECT_GT(long_ridges(line, sigma_px, 5).strength.at<float>(60, 60), 0.2f);
  EXPECT_LT(long_ridges(-line, sigma_px, 5).strength.at<float>(60, 60), 0.02f) << "a dark line is no ridge of this ink";
  EXPECT_GT(colour_ridges(three(-line, 1, 0, 0), sigma_px).strength.at<float>(60, 60), 0.2f) << "any colour is";
}

TEST(RidgeField, TurnsWithThePicture) {
  const cv::Mat line = gaussian_line({57, 62}, 0.5, 2);
  cv::Mat turned;
  cv::rotate(line, turned, cv::ROTATE_90_CLOCKWISE);
  const cv::Mat a = long_ridges(line, sigma_px, 5).strength, b = long_ridges(turned, sigma_px, 5).strength;
  cv::Mat a_turned;
  cv::rotate(a, a_turned, cv::ROTATE_90_CLOCKWISE);
  const cv::Rect inner(12, 12, size - 24, size - 24);
  // of a crest of 0.4: the sixteen directions turn into one another, whole-pixel taps not quite
  constexpr double rounding = 0.02;
  EXPECT_LT(cv::norm(a_turned(inner), b(inner), cv::NORM_INF), rounding);
}

// Pixels of a row are taken several at once: whatever is left over at its end must come out as at its beginning.
TEST(RidgeField, AMirroredPictureHasMirroredRidgesAtEveryWidth) {
  constexpr double rounding = 1e-5;  // of strengths about 1: sums of a few single-precision values in another order
  const cv::Mat colours =
      three(gaussian_line({57, 62}, 0.5, 2), 1, -0.5, 0.7) + three(gaussian_line({4, 3}, 1.2, 3), 0.2, 0.9, 0.1);
  for (const int width : {3, 4, 5, 6, 7, 8, 9, 30}) {
    const cv::Mat picture = colours(cv::Rect(0, 0, width, size)).clone();
    cv::Mat mirrored, back;
    cv::flip(picture, mirrored, 1);
    cv::flip(colour_ridges(mirrored, sigma_px).strength, back, 1);
    const cv::Mat strength = colour_ridges(picture, sigma_px).strength;
    EXPECT_LT(cv::norm(strength, back, cv::NORM_INF), rounding) << width;
    EXPECT_GT(cv::norm(strength.col(width - 2), cv::NORM_INF), 0.001) << width;
    EXPECT_EQ(cv::norm(strength.col(width - 1), cv::NORM_INF), 0) << width << ": a border has no second derivative";
    EXPECT_EQ(cv::norm(strength.col(0), cv::NORM_INF), 0) << width;
  }
}

TEST(CrestChain, BridgesABreakAndKeepsParallelsApart) {
  cv::Mat picture = gaussian_line({60, 40}, 0, 1.7) + gaussian_line({60, 52}, 0, 1.7);
  picture(cv::Rect(56, 0, 4, size)).setTo(cv::Scalar(0));
  const RidgeField field = colour_ridges(three(picture, 1, 0, 0), sigma_px);
  CrestChainOptions options;
  options.seed = 0.2;
  options.gap_px = 8;
  options.least_px = 30;
  const auto chains = chain_crests(crest_points(field, 0.1), field.strength.size(), options);
  ASSERT_EQ(chains.size(), 2u);
  for (const CrestChain& chain : chains) {
    const double y = chain.front().at.y() < 46 ? 40 : 52;
    EXPECT_GT(std::abs(chain.back().at.x() - chain.front().at.x()), 90) << "over the break";
    for (const CrestPoint& p : chain) EXPECT_NEAR(p.at.y(), y, 1.0);
  }
}

}  // namespace chalkfold::trace
