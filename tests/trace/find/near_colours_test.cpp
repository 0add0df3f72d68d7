// SPDX-License-Identifier: Apache-2.0
// Panels of nearly the table's colour, and under a hard shadow, told from it on drawn tables.
#include "pipeline/trace/find/near_colours.h"

#include <gtest/gtest.h>

#include <cmath>
#include <opencv2/imgproc.hpp>

namespace chalkfold::trace {
namespace {

const cv::Size size(460, 360);  // px of 1 mm
const cv::Rect where(130, 110, 200, 140);
// Intersection over union: a coarse outline is good to 2 mm, and two all round this panel are 0.048 of it.
constexpr double nearly_all = 0.95;

/// sRGB code of linear light (IEC 61966-2-1).
uchar code_of(double linear) {
  const double v = linear <= 0.0031308 ? 12.92 * linear : 1.055 * std::pow(linear, 1 / 2.4) - 0.055;
  return cv::saturate_cast<uchar>(255 * v);
}

cv::Mat filled(const cv::Rect& r) {
  cv::Mat mask = cv::Mat::zeros(size, CV_8U);
  mask(r).setTo(255);
  return mask;
}

/// Reflectances with a material's own unevenness, under a light of 1 or less: Lab as segmentation has it.
cv::Mat lab_of(const cv::Vec3d& table, const cv::Vec3d& panel, const cv::Mat& light) {
  cv::Mat bgr(size, CV_8UC3), lab;
  cv::RNG dice(7);
  for (int y = 0; y < size.height; ++y)
    for (int x = 0; x < size.width; ++x) {
      const double uneven = 1 + dice.gaussian(0.06);
      for (int c = 0; c < 3; ++c)
        bgr.at<cv::Vec3b>(y, x)[c] =
            code_of((where.contains({x, y}) ? panel[c] : table[c]) * uneven * light.at<float>(y, x));
    }
  cv::cvtColor(bgr, lab, cv::COLOR_BGR2Lab);
  return lab;
}

EyeMaps maps_of(const cv::Mat& panel_probability) {
  EyeMaps maps;
  maps.panel = panel_probability;
  maps.edge = cv::Mat::zeros(size, CV_32F);
  maps.shadow = cv::Mat::zeros(size, CV_32F);
  return maps;
}

double shared(const cv::Mat& a, const cv::Mat& b) {
  return static_cast<double>(cv::countNonZero(a & b)) / cv::countNonZero(a | b);
}

const cv::Mat open(size, CV_8U, cv::Scalar(255));

TEST(NearColours, ABulgeThatTheNetworkSawTooMuchComesOff) {
  const cv::Mat lab = lab_of({0.060, 0.090, 0.150}, {0.066, 0.092, 0.140}, cv::Mat::ones(size, CV_32F));
  const cv::Mat seen = filled(where) | filled({where.x - 24, where.y + 20, 30, 80});
  cv::Mat probability(size, CV_32F, cv::Scalar(0.1));
  probability.setTo(0.75, seen);
  const cv::Mat closer = told_from_near_colours(seen, lab, maps_of(probability), open, 1);
  EXPECT_LT(shared(seen, filled(where)), nearly_all - 0.01);
  EXPECT_GT(shared(closer, filled(where)), nearly_all);
}

TEST(NearColours, ShadedTableOfThePanelsOwnColourIsLeftOut) {
  // The panel reflects just what the shadow leaves of the table: in the picture a band of shaded table and the lit panel are one colour.
  constexpr float left_over = 0.35f;
  const cv::Vec3d table(0.10, 0.28, 0.58), panel = left_over * table;
  const cv::Rect band(200, 0, 50, size.height);
  cv::Mat light = cv::Mat::ones(size, CV_32F);
  light(band).setTo(left_over);
  const cv::Mat lab = lab_of(table, panel, light), tongue = filled({band.x, 0, band.width, where.y});
  EyeMaps maps = maps_of(cv::Mat(size, CV_32F, cv::Scalar(0.1)));
  const cv::Mat seen = filled(where) | tongue;
  maps.panel.setTo(0.9, seen);
  maps.shadow(band).setTo(0.8);
  cv::rectangle(maps.edge, where, 0.5, 3);  // the step from shaded table to shaded panel is seen
  const cv::Mat told = told_under_shadow(seen, lab, maps, open, 1);
  EXPECT_GT(shared(told, filled(where)), nearly_all);
  EXPECT_EQ(cv::countNonZero(told & filled({band.x, 0, band.width, where.y - 12})), 0);
}

TEST(NearColours, AChalkMarkAtTheEdgeCutsNoNick) {
  // The outline would knot in it. Chalk is neither panel nor table, and the network is not sure of it.
  cv::Mat lab = lab_of({0.060, 0.090, 0.150}, {0.066, 0.092, 0.140}, cv::Mat::ones(size, CV_32F));
  const cv::Rect mark(where.x + 90, where.y, 3, 15);
  lab(mark).setTo(cv::Scalar(200, 128, 128));
  cv::Mat probability(size, CV_32F, cv::Scalar(0.1));
  probability.setTo(0.9, filled(where));
  probability(cv::Rect(mark.x - 3, mark.y, 9, mark.height)).setTo(0.02);
  const cv::Mat closer = told_from_near_colours(filled(where), lab, maps_of(probability), open, 1);
  constexpr int border = 4;  // px: a coarse outline is good to 2 mm, and closing rounds what is left of a nick
  const cv::Mat about_mark = ~closer(cv::Rect(mark.x - 6, mark.y + border, 15, mark.height));
  EXPECT_EQ(cv::countNonZero(about_mark), 0);
}

}  // namespace
}  // namespace chalkfold::trace
