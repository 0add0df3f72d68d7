// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/edge/boundary_path.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>
#include <opencv2/imgproc.hpp>
#include <optional>

#include "pipeline/geometry/polygon.h"
#include "pipeline/trace/base/table_raster.h"
#include "tests/survey/synthetic.h"
#include "tests/trace/straight_view.h"

namespace chalkfold::trace {
namespace {

Polyline circle(double radius, int count) {
  Polyline points;
  for (int i = 0; i < count; ++i)
    points.push_back(radius * Vec2(std::cos(2 * M_PI * i / count), std::sin(2 * M_PI * i / count)));
  return points;
}

TEST(RightNormals, PointOutwardOnACounterClockwiseOutline) {
  const Polyline points = circle(50, 300), normals = right_normals(points, 3);
  for (std::size_t i = 0; i < points.size(); ++i) {
    EXPECT_NEAR(normals[i].norm(), 1, 1e-12);
    EXPECT_GT(normals[i].dot(points[i].normalized()), 0.999);
  }
}

TEST(SmoothClosed, KeepsACircleAndTakesOutNoise) {
  Polyline rough = circle(50, 314);
  for (std::size_t i = 0; i < rough.size(); ++i) rough[i] *= 1 + (i % 2 == 0 ? 0.004 : -0.004);  // 0.2 mm zigzag
  // A Gaussian of 3 steps of 1 mm shrinks radius 50 by sigma^2 / (2 r) = 0.09 mm.
  for (const Vec2& p : smooth_closed(rough, 3)) EXPECT_NEAR(p.norm(), 49.91, 0.01);
}

/// 2 px per mm.
survey::TableView straight_view() { return survey::TableView(test::straight_above({800, 600}, 2)); }

/// A panel of radius 80 mm on a table, drawn finely, blurred, with a sensor's noise.
cv::Mat disc_photo(const cv::Scalar& panel, const cv::Scalar& table, double radius,
                   const std::optional<cv::Scalar>& stripe = {}) {
  const double noise = stripe ? 1.5 : 4;                            // codes
  constexpr int period = 8 * 19, first = 1600 + 8 * 74, wide = 56;  // of stripes of 7 mm that run up, fine px
  cv::Mat fine(2400, 3200, CV_8UC3, panel), photo;
  for (int x = first % period; stripe && x < fine.cols; x += period)
    cv::rectangle(fine, {x, 0, wide, fine.rows}, *stripe, cv::FILLED);
  cv::Mat mask(fine.size(), CV_8U, cv::Scalar(255));
  cv::circle(mask, {1600, 1200}, static_cast<int>(std::lround(radius * 8)), cv::Scalar(0), cv::FILLED);
  if (stripe) {
    // Stone: its grain is of brightness alone.
    constexpr double specks = 12;  // codes
    survey::Random random(7);
    cv::Mat grain(300, 400, CV_32F), stone_grain;
    for (float& v : cv::Mat_<float>(grain)) v = static_cast<float>(1 + random.normal(specks) / table[0]);
    cv::resize(grain, stone_grain, fine.size(), 0, 0, cv::INTER_LINEAR);
    cv::Mat stone;
    cv::merge(std::vector<cv::Mat>{table[0] * stone_grain, table[1] * stone_grain, table[2] * stone_grain}, stone);
    stone.convertTo(stone, CV_8UC3);
    stone.copyTo(fine, mask);
  } else {
    fine.setTo(table, mask);
  }
  cv::resize(fine, photo, {800, 600}, 0, 0, cv::INTER_AREA);
  cv::GaussianBlur(photo, photo, {}, 0.7);
  survey::Random random(6);
  for (int i = 0; i < static_cast<int>(photo.total()); ++i) {
    for (int c = 0; c < 3; ++c) {
      unsigned char& code = photo.at<cv::Vec3b>(i / photo.cols, i % photo.cols)[c];
      code = cv::saturate_cast<unsigned char>(code + random.normal(noise));
    }
  }
  return photo;
}

TEST(FollowBoundary, FindsThePanelBesideACoarseContour) {
  constexpr double radius = 80;
  // mm: half a millimetre is what the header promises; the outline fit searches 1.2 mm either side and bears no more than this.
  constexpr double followed_rms = 0.5, followed_worst = 0.9;
  const survey::TableView view = straight_view();
  const std::pair<cv::Scalar, cv::Scalar> colours[] = {{{50, 45, 60}, {150, 170, 190}},
                                                       {{170, 180, 190}, {60, 50, 40}}};
  for (const auto& [panel, table] : colours) {
    const cv::Mat photo = disc_photo(panel, table, radius);
    const BoundarySampler sampler(photo, view, 0, 1.2);
    Polyline coarse;
    for (const Vec2& p : circle(1, 250)) coarse.push_back((radius + 1.5 * std::sin(5 * std::atan2(p.y(), p.x()))) * p);
    const Polyline found = follow_boundary(sampler, coarse, {}).points;
    ASSERT_GT(found.size(), 300u);
    EXPECT_GT(geometry::signed_area(found), 0);
    std::vector<double> off;
    for (const Vec2& p : found) off.push_back(p.norm() - radius);
    fmt::print("followed boundary: rms {:.3f} mm, worst {:.3f} mm\n", survey::rms(off), survey::worst(off));
    EXPECT_LT(survey::rms(off), followed_rms);
    EXPECT_LT(survey::worst(off), followed_worst);
  }
}

TEST(FollowBoundary, AStripeAlongTheEdgeIsNoShadowOfThePanel) {
  constexpr double radius = 80;
  constexpr double followed_worst = 1.2;  // mm: the outline fit's search
  const survey::TableView view = straight_view();
  // Of half the table's brightness and bluish: neutral, it could be a shadow. One stripe lies 74 to 81 mm to the right.
  const cv::Mat photo = disc_photo({44, 41, 38}, {109, 111, 112}, radius, cv::Scalar(86, 79, 74));
  const BoundarySampler sampler(photo, view, 0, 1.2);
  std::vector<double> off;
  for (const Vec2& p : follow_boundary(sampler, circle(radius, 250), {}).points) off.push_back(p.norm() - radius);
  EXPECT_LT(survey::worst(off), followed_worst);
}

TEST(FollowBoundary, AThreadBesideTheEdgeIsNeitherPanelNorTable) {
  constexpr double radius = 80, followed_worst = 0.9;  // mm
  const survey::TableView view = straight_view();
  for (const cv::Scalar& thread : {cv::Scalar(100, 110, 120), cv::Scalar(60, 60, 160), cv::Scalar(140, 110, 70)}) {
    cv::Mat photo = disc_photo({120, 160, 190}, {60, 58, 55}, radius);
    constexpr int from_edge = 5;  // px, of half a millimetre
    cv::ellipse(photo, {400, 300}, {2 * 80 + from_edge, 2 * 80 + from_edge}, 0, 20, 80, thread, 3, cv::LINE_AA);
    const BoundarySampler sampler(photo, view, 0, 1.2);
    std::vector<double> off;
    for (const Vec2& p : follow_boundary(sampler, circle(radius + 3, 250), {}).points) off.push_back(p.norm() - radius);
    EXPECT_LT(survey::worst(off), followed_worst) << "thread of " << thread;
  }
}

std::vector<cv::Point> in_photo(const survey::TableView& view, const Polyline& points, double height) {
  std::vector<cv::Point> out;
  for (const Vec2& p : points) {
    const Vec2 at = 16 * view.photo_from_table(p, height);
    out.emplace_back(cvRound(at.x()), cvRound(at.y()));
  }
  return out;
}

TEST(FollowBoundary, TheCutSideIsNotTakenForTheFaceWhoseMaterialItIs) {
  // 2.4 to 4 mm of it show, in a light that the face does not have; the coarse contour takes it in.
  constexpr double thickness = 20, radius = 40, followed_worst = 1.2;  // mm
  constexpr int sixteenths = 4;                                        // bits of a px
  const Vec2 middle(140, 0);
  const survey::TableView view = straight_view();
  Polyline face = circle(radius, 250);
  for (Vec2& p : face) p += middle;
  for (const double light : {0.8, 1.15}) {
    cv::Mat photo(600, 800, CV_8UC3, cv::Scalar(70, 95, 140));
    std::vector<cv::Point> all = in_photo(view, face, thickness), foot = in_photo(view, face, 0), side;
    foot.insert(foot.end(), all.begin(), all.end());
    cv::convexHull(foot, side);
    cv::fillConvexPoly(photo, side, light * cv::Scalar(180, 165, 120), cv::LINE_AA, sixteenths);
    cv::fillConvexPoly(photo, all, cv::Scalar(180, 165, 120), cv::LINE_AA, sixteenths);
    cv::GaussianBlur(photo, photo, {}, 0.7);
    const BoundarySampler sampler(photo, view, thickness, thickness);
    Polyline coarse;
    for (const Vec2& p : face) {
      const Vec2 outward = (p - middle).normalized();
      coarse.push_back(p + std::max(0.0, sampler.wall_shown(p, outward)) * outward);
    }
    std::vector<double> off;
    for (const Vec2& p : follow_boundary(sampler, coarse, {}).points) off.push_back((p - middle).norm() - radius);
    EXPECT_LT(survey::worst(off), followed_worst) << "side in " << light << " of the face's light";
  }
}

TEST(BoundarySampler, ReadsLinearLightAndTheWallsFoot) {
  const survey::TableView view = straight_view();
  const cv::Mat photo(600, 800, CV_8UC3, cv::Scalar(188, 128, 255));
  const BoundarySampler sampler(photo, view, 5, 5);
  const Eigen::Vector3f light = sampler.colour_at(Vec2(30, 20));
  EXPECT_NEAR(light[0], 0.5029, 1e-3);  // sRGB 188, 128, 255
  EXPECT_NEAR(light[1], 0.2159, 1e-3);
  EXPECT_NEAR(light[2], 1.0, 1e-6);
  EXPECT_NEAR(sampler.mm_per_px(Vec2(0, 0), Vec2(1, 0)), 995.0 / 2000, 1e-9);
  // A wall of 5 mm, 100 mm from the foot of a camera at 1 m: its own foot hides 0.5 mm inside the upper edge outward.
  EXPECT_NEAR(sampler.wall_shown(Vec2(100, 0), Vec2(1, 0)), -0.5, 5e-3);
  EXPECT_NEAR(sampler.wall_shown(Vec2(100, 0), Vec2(-1, 0)), 0.5, 5e-3);
}

TEST(PhotoMap, IsTheViewToAHundredthOfAPixel) {
  constexpr double bilinear_px = 0.01;
  survey::TableView::Solution s = straight_view().solution();
  s.lens.k1 = 0.1;
  s.lens.k2 = -0.15;
  const survey::TableView view(s);
  const TableRaster raster = raster_over({Vec2(-150, -100), Vec2(150, 100)}, 1.0);
  const cv::Mat map = photo_map(raster, view, 2.0, 1.0);
  for (int y = 0; y < raster.size.height; y += 7) {
    for (int x = 0; x < raster.size.width; x += 7) {
      const Vec2 p = view.photo_from_table(raster.table_from_raster(Vec2(x, y)), 2.0);
      const cv::Vec2f m = map.at<cv::Vec2f>(y, x);
      ASSERT_LT((p - Vec2(m[0], m[1])).norm(), bilinear_px);
    }
  }
  EXPECT_LT((raster.raster_from_table(raster.table_from_raster(Vec2(3, 5))) - Vec2(3, 5)).norm(), 1e-9);
}

}  // namespace
}  // namespace chalkfold::trace
