// SPDX-License-Identifier: Apache-2.0
#include "demo/camera/render.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <iostream>
#include <map>
#include <opencv2/aruco.hpp>
#include <opencv2/imgproc.hpp>

#include "calib/sheet_layout.h"
#include "demo/design/lay_panel.h"
#include "demo/scenes/scene_layout.h"
#include "demo/scenes/scenes.h"

namespace chalkfold::demo {
namespace {

struct Markers {
  std::vector<int> ids;
  std::vector<std::vector<cv::Point2f>> corners;
};

Markers detected(const cv::Mat& grey) {
  Markers out;
  cv::aruco::detectMarkers(grey, cv::aruco::getPredefinedDictionary(cv::aruco::DICT_5X5_1000), out.corners, out.ids);
  return out;
}

/// True pixels of all markers' corners, in ArUco's order, by id.
std::map<int, std::vector<Vec2>> true_markers(const Scene& s) {
  const calib::Lens lens = upright_lens(s.camera);
  std::map<int, std::vector<Vec2>> out;
  const auto put = [&](int id, const geometry::Rigid2& place, const Vec2& nominal) {
    const Vec2 p = place * Vec2(nominal.x() * s.print_scale.x, nominal.y() * s.print_scale.y);
    out[id].push_back(calib::photo_from_table(lens, s.camera.pose, {p.x(), p.y(), sheet_plane_z}));
  };
  for (const SheetOnTable& sheet_here : s.sheets) {
    for (int m = 0; m < sheet::markers_per_sheet; ++m) {
      for (const Vec2& c : sheet::marker_corners(m))
        put(sheet::marker_id(sheet_here.number, m), {sheet_here.theta, sheet_here.at}, c);
    }
  }
  constexpr double h = sheet::tag_side / 2;
  for (const TagOnTable& t : s.tags) {
    for (const Vec2& c : {Vec2(-h, h), Vec2(h, h), Vec2(h, -h), Vec2(-h, -h)})
      put(sheet::tag_first_id + t.number, {t.theta, t.at}, c);
  }
  return out;
}

/// Offsets (px) of OpenCV's refined sheet corners from where the truth puts them.
std::vector<Vec2> corner_offsets(const Scene& s, const cv::Mat& grey) {
  const calib::Lens lens = upright_lens(s.camera);
  std::vector<Vec2> truth_px;
  std::vector<cv::Point2f> found;
  for (const SheetOnTable& sheet_here : s.sheets) {
    for (int k = 0; k < sheet::corners_per_sheet; ++k) {
      const Vec2 c = sheet::corner(k);
      const Vec2 p =
          geometry::Rigid2{sheet_here.theta, sheet_here.at} * Vec2(c.x() * s.print_scale.x, c.y() * s.print_scale.y);
      truth_px.push_back(calib::photo_from_table(lens, s.camera.pose, {p.x(), p.y(), sheet_plane_z}));
      found.emplace_back(static_cast<float>(truth_px.back().x() + 0.4), static_cast<float>(truth_px.back().y() - 0.3));
    }
  }
  cv::cornerSubPix(grey, found, {6, 6}, {-1, -1}, {cv::TermCriteria::COUNT + cv::TermCriteria::EPS, 60, 1e-4});
  std::vector<Vec2> out;
  for (std::size_t i = 0; i < found.size(); ++i) out.emplace_back(Vec2(found[i].x, found[i].y) - truth_px[i]);
  return out;
}

double normal_share(double z) { return 0.5 * std::erfc(-z / std::sqrt(2.0)); }

/// Distance from a polyline, positive on the right of its way as seen on the screen (y down).
double signed_distance(const Polyline& line, const Vec2& p) {
  double best = 1e9;
  for (std::size_t i = 1; i < line.size(); ++i) {
    const Vec2 way = line[i] - line[i - 1], from = p - line[i - 1];
    const double distance = geometry::distance_to({line[i - 1], line[i]}, p, false);
    if (distance < std::abs(best)) best = std::copysign(distance, way.x() * from.y() - way.y() * from.x());
  }
  return best;
}

/// How far (px, positive outwards) a dark-inside edge lies from the outline drawn through `line_px`, by least squares
/// over the pixels round `at`: the edge's spread is known, so its place follows from their values. Interpolating
/// between the pixels would not do: at blur 0.6 px they undersample the edge, which costs up to 0.1 px.
double fitted_offset(const cv::Mat& light, const Polyline& line_px, const Vec2& at, double inside, double outside,
                     double blur_px) {
  const double sigma = std::sqrt(blur_px * blur_px + 1 / 12.0);  // with the pixel's own square
  constexpr int reach = 5;
  double offset = 0;
  for (int round = 0; round < 3; ++round) {
    double numerator = 0, denominator = 0;
    for (int y = static_cast<int>(at.y()) - reach; y <= static_cast<int>(at.y()) + reach; ++y) {
      for (int x = static_cast<int>(at.x()) - reach; x <= static_cast<int>(at.x()) + reach; ++x) {
        const Vec2 p(x, y);
        if ((p - at).norm() > reach) continue;
        const double z = (signed_distance(line_px, p) - offset) / sigma;
        const double slope = -(outside - inside) * std::exp(-0.5 * z * z) / (sigma * std::sqrt(2 * CV_PI));
        numerator += slope * (light.at<float>(y, x) - inside - (outside - inside) * normal_share(z));
        denominator += slope * slope;
      }
    }
    offset += numerator / denominator;
  }
  return offset;
}

/// fitted_offset() along the outline of a scene's only panel. Points whose side wall is in view, and those near a
/// corner or a notch, are left out.
std::vector<double> edge_offsets(const Scene& s, const cv::Mat& linear) {
  const calib::Lens lens = upright_lens(s.camera);
  const LaidPanel& panel = s.panels.at(0);
  const Vec3 eye = s.camera.pose.centre();
  cv::Mat light;
  cv::extractChannel(linear, light, 1);
  std::vector<double> out;
  const Polyline& line = panel.outline;
  const std::size_t n = line.size();
  for (std::size_t i = 0; i < n; i += 7) {
    constexpr double clear_mm = 8;
    constexpr double flat_mm = 0.05;  // thinner, no wall is seen
    const Vec2 along = (line[(i + 1) % n] - line[(i + n - 1) % n]).normalized(), normal(along.y(), -along.x());
    bool skip = normal.dot(eye.head<2>() - line[i]) > 0 && panel.thickness > flat_mm;
    for (const Vec2& c : panel.corners) skip = skip || (c - line[i]).norm() < clear_mm;
    for (const Mark& m : panel.marks) skip = skip || (m.points[0] - line[i]).norm() < clear_mm;
    if (skip) continue;
    Polyline line_px;
    constexpr std::size_t around = 8;
    for (std::size_t k = i + n - around; k <= i + n + around; ++k) {
      line_px.push_back(
          calib::photo_from_table(lens, s.camera.pose, {line[k % n].x(), line[k % n].y(), panel.thickness}));
    }
    const double inside = panel.material.colour.g, outside = s.table.colour.g;
    out.push_back(fitted_offset(light, line_px, line_px[around], inside, outside, s.sensor.blur_px));
  }
  return out;
}

Scene bare_panel_scene(double thickness, double tilt_deg, double height) {
  Scene s;
  s.camera.lens = phone_lens();
  s.camera.pose = pose_at({{4, -7}, height, tilt_deg, 65, 81});
  s.thing_shadows = false;
  s.table.top = TableTop::plain;
  s.table.colour = {0.6F, 0.6F, 0.6F};
  const LayOptions lay{.table_from_panel = {0.23, {0, 0}},
                       .thickness = thickness,
                       .material = {.colour = {0.004F, 0.004F, 0.004F}},
                       .chalked = false};
  s.panels.push_back(lay_panel(panel_design(DesignKind::back_inner), lay));
  return s;
}

void expect_edge_on_truth(const Scene& s) {
  const std::vector<double> offsets = edge_offsets(s, render_linear(s));
  ASSERT_GT(offsets.size(), 120U);
  // of it 0.02 from the blur's sampled kernel, which is not quite the Gaussian that is fitted
  constexpr double worst_px = 0.03;
  constexpr double mean_px = 0.003;  // no bias
  double sum = 0, worst = 0;
  for (const double o : offsets) {
    sum += o;
    worst = std::max(worst, std::abs(o));
  }
  EXPECT_LT(worst, worst_px);
  EXPECT_LT(std::abs(sum) / static_cast<double>(offsets.size()), mean_px);
  std::cout << "edge: " << offsets.size() << " points, mean " << sum / static_cast<double>(offsets.size())
            << " px, worst " << worst << " px\n";
}

/// The part of a polygon on one side of a line through `at` (Sutherland and Hodgman, 1974).
Polyline clipped(const Polyline& polygon, const Vec2& at, const Vec2& inwards) {
  Polyline out;
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const Vec2 &a = polygon[i], &b = polygon[(i + 1) % polygon.size()];
    const double u = (a - at).dot(inwards), v = (b - at).dot(inwards);
    if (u >= 0) out.push_back(a);
    if ((u >= 0) != (v >= 0)) out.push_back(a + (b - a) * (u / (u - v)));
  }
  return out;
}

TEST(Render, CoversPixelsByTheExactShareOfTheirArea) {
  Scene s = bare_panel_scene(0.01, 25, 1100);
  const cv::Mat light = render_light(s);
  const calib::Lens lens = upright_lens(s.camera);
  Polyline outline_px;
  for (const Vec2& p : s.panels[0].outline)
    outline_px.push_back(calib::photo_from_table(lens, s.camera.pose, {p.x(), p.y(), s.panels[0].thickness}));
  const double inside = s.panels[0].material.colour.g, outside = s.table.colour.g;
  constexpr double share = 0.02;        // of a pixel: an edge across it is off by no more px than that
  constexpr double mean_share = 0.002;  // the face's grain and the 0.01 mm wall are in it
  double sum = 0, worst = 0;
  int mixed = 0;
  for (std::size_t i = 0; i < outline_px.size(); i += 3) {
    const Vec2 c = outline_px[i].array().round();
    Polyline part = clipped(outline_px, {c.x() - 0.5, 0}, {1, 0});
    part = clipped(part, {c.x() + 0.5, 0}, {-1, 0});
    part = clipped(part, {0, c.y() - 0.5}, {0, 1});
    part = clipped(part, {0, c.y() + 0.5}, {0, -1});
    const double area = std::abs(geometry::signed_area(part));
    const double seen =
        (outside - light.at<cv::Vec3f>(static_cast<int>(c.y()), static_cast<int>(c.x()))[1]) / (outside - inside);
    sum += seen - area;
    worst = std::max(worst, std::abs(seen - area));
    mixed += area > 0.02 && area < 0.98;
  }
  ASSERT_GT(mixed, 700);
  EXPECT_LT(worst, share);
  EXPECT_LT(std::abs(sum) / mixed, mean_share);
  std::cout << "coverage: " << mixed << " mixed pixels, mean " << sum / mixed << ", worst " << worst << "\n";
}

TEST(Render, PutsTheEdgeOfAThinPanelOnTheTruthUnderTilt) { expect_edge_on_truth(bare_panel_scene(0.01, 25, 1100)); }

TEST(Render, PutsTheUpperFaceOfAThickPanelAtItsHeight) { expect_edge_on_truth(bare_panel_scene(6, 8, 1000)); }

TEST(Render, MarkersAreReadUnmirroredAndCornersLieOnTheTruth) {
  for (const int photo : {0, 2}) {  // landscape, and portrait stored turned
    const Scene s = launch_scene(photo);
    const auto start = std::chrono::steady_clock::now();
    const cv::Mat picture = render(s);
    const std::chrono::duration<double> taken = std::chrono::steady_clock::now() - start;
    cv::Mat grey;
    cv::cvtColor(picture, grey, cv::COLOR_BGR2GRAY);

    const Markers markers = detected(grey);
    const auto expected = true_markers(s);
    EXPECT_EQ(markers.ids.size(), expected.size()) << s.name;
    // unrefined corners; a marker is over 50 px wide, so turned or mirrored it would be off by more
    constexpr double detector_px = 4;
    for (std::size_t i = 0; i < markers.ids.size(); ++i) {
      ASSERT_TRUE(expected.count(markers.ids[i])) << "marker " << markers.ids[i] << " is not in " << s.name;
      for (std::size_t k = 0; k < 4; ++k) {
        EXPECT_LT((Vec2(markers.corners[i][k].x, markers.corners[i][k].y) - expected.at(markers.ids[i])[k]).norm(),
                  detector_px)
            << "marker " << markers.ids[i];
      }
    }

    const std::vector<Vec2> offsets = corner_offsets(s, grey);
    Vec2 mean = Vec2::Zero();
    double squares = 0;
    for (const Vec2& o : offsets) mean += o / static_cast<double>(offsets.size());
    for (const Vec2& o : offsets) squares += o.squaredNorm() / (2.0 * static_cast<double>(offsets.size()));
    constexpr double mean_px = 0.03,
                     rms_px = 0.12;  // per coordinate, at blur 0.6 px with phone noise: what good photographs give
    EXPECT_LT(mean.norm(), mean_px);
    EXPECT_LT(std::sqrt(squares), rms_px);
    std::cout << s.name << ": " << offsets.size() << " corners, mean " << mean.transpose() << " px, rms "
              << std::sqrt(squares) << " px; rendered in " << taken.count() << " s\n";
  }
}

TEST(Render, PrintScaleMovesThePrintAndNotTheTruthOfThePanel) {
  Scene s = flag_scene(3);
  s.sensor = Sensor{};
  s.print_scale = {1.003, 0.998};
  cv::Mat grey;
  cv::cvtColor(render(s), grey, cv::COLOR_BGR2GRAY);
  Vec2 mean = Vec2::Zero();
  const std::vector<Vec2> offsets = corner_offsets(s, grey);
  double squares = 0;
  for (const Vec2& o : offsets) squares += o.squaredNorm() / (2.0 * static_cast<double>(offsets.size()));
  for (const Vec2& o : offsets) mean += o / static_cast<double>(offsets.size());
  EXPECT_LT(std::sqrt(squares), 0.12);
  EXPECT_LT(mean.norm(), 0.03);
  s.print_scale = {1, 1};
  EXPECT_GT(corner_offsets(s, grey)[0].norm(), 0.3) << "0.3 % of a 54 mm lever is half a pixel";
}

TEST(Render, ShadowsDarkenTheTableBesideAPanelOnly) {
  Scene s = bare_panel_scene(5, 0, 1000);
  s.camera.lens = phone_lens(1008);
  const cv::Mat bare = render_light(s);
  s.thing_shadows = true;
  const cv::Mat shaded = render_light(s);
  const calib::Lens lens = upright_lens(s.camera);
  const auto green = [&](const cv::Mat& m, const Vec2& p, double z) {
    const Vec2 px = calib::photo_from_table(lens, s.camera.pose, {p.x(), p.y(), z});
    return m.at<cv::Vec3f>(static_cast<int>(std::lround(px.y())), static_cast<int>(std::lround(px.x())))[1];
  };
  const geometry::Box box = geometry::bounding_box(s.panels[0].outline);
  const Vec2 foot = s.panels[0].axis.value()[0];
  const Vec2 outwards = (foot - box.centre()).normalized();
  EXPECT_FLOAT_EQ(green(shaded, box.centre(), 5), green(bare, box.centre(), 5));
  EXPECT_LT(green(shaded, foot + 4 * outwards, 0), 0.95F * green(bare, foot + 4 * outwards, 0));
  EXPECT_FLOAT_EQ(green(shaded, foot + 90 * outwards, 0), green(bare, foot + 90 * outwards, 0));
}

TEST(Render, RefusesACameraThatSeesTheHorizon) {
  Scene s = bare_panel_scene(1, 75, 1000);
  s.camera.lens = phone_lens(640);
  EXPECT_THROW(render_light(s), std::logic_error);
}

}  // namespace
}  // namespace chalkfold::demo
