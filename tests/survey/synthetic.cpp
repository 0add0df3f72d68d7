// SPDX-License-Identifier: Apache-2.0
#include "tests/survey/synthetic.h"

#include <Eigen/Dense>
#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "calib/sheet_layout.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/survey/sensor_frame.h"

namespace chalkfold::survey {

namespace {
constexpr double rad = std::numbers::pi / 180;

SensorFrame frame_of(const TrueCamera& camera) {
  const int turns = quarter_turns_of_orientation(camera.orientation);
  const bool upended = turns % 2 != 0;
  return {upended ? camera.lens.height : camera.lens.width, upended ? camera.lens.width : camera.lens.height, turns};
}
}  // namespace

std::uint64_t Random::next() {
  state_ += 0x9e3779b97f4a7c15ULL;
  std::uint64_t z = state_;
  z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ULL;
  z = (z ^ (z >> 27)) * 0x94d049bb133111ebULL;
  return z ^ (z >> 31);
}

double Random::uniform(double low, double high) {
  return low + (high - low) * static_cast<double>(next() >> 11) * 0x1.0p-53;
}

double Random::normal(double sigma) {
  const double radius = std::sqrt(-2 * std::log(uniform(0x1.0p-53, 1)));
  return sigma * radius * std::cos(uniform(0, 2 * std::numbers::pi));
}

calib::Lens usual_lens() {
  calib::Lens lens;
  lens.width = 4032;
  lens.height = 3024;
  lens.focal_px = 26 / std::hypot(36.0, 24.0) * std::hypot(4032.0, 3024.0);
  lens.centre_x_px = 2025.3;
  lens.centre_y_px = 1498.2;
  lens.k1 = 0.085;
  lens.k2 = -0.16;
  lens.p1 = 3e-4;
  lens.p2 = -2e-4;
  lens.k3 = 0.06;
  return lens;
}

calib::Pose pose_of(const Held& held) {
  const double tilt = held.tilt_deg * rad, heading = held.heading_deg * rad, roll = held.roll_deg * rad;
  const Vec3 lean(std::cos(heading), std::sin(heading), 0);
  const Vec3 eye = Vec3(held.aim.x(), held.aim.y(), 0) + held.height * (std::tan(tilt) * lean + Vec3::UnitZ());
  const Vec3 forward = -(std::sin(tilt) * lean + std::cos(tilt) * Vec3::UnitZ());
  // The camera that looks straight down, sensor up along +y, swung so that its axis points forward, then rolled.
  const Eigen::Quaterniond swing = Eigen::Quaterniond::FromTwoVectors(-Vec3::UnitZ(), forward);
  const Eigen::AngleAxisd about_axis(roll, forward);
  Mat3 down;  // columns: camera x, y, z in the table frame
  down << 1, 0, 0, 0, -1, 0, 0, 0, -1;
  const Mat3 table_from_camera = about_axis.toRotationMatrix() * swing.toRotationMatrix() * down;
  return {table_from_camera.transpose(), -table_from_camera.transpose() * eye};
}

std::vector<SheetPlace> sheets_around(int count) {
  constexpr double beside = 350 + 20 + 105;  // half the panel, a gap, half an A4 page
  constexpr double above = 300 + 20 + 90;    // the page on its side, its margins over the gap
  switch (count) {
    case 1:
      return {{1, {beside, 10}, 0.05}};
    case 2:
      return {{1, {beside, 10}, 0.05}, {2, {-beside, -20}, -0.08}};
    case 3:
      return {{1, {beside, -60}, 0.05}, {2, {-beside, -40}, -0.08}, {3, {20, above}, 1.6}};
    default:
      return {
          {1, {beside, 170}, 0.05}, {2, {-beside, 180}, -0.08}, {3, {-beside, -170}, 0.03}, {4, {beside, -175}, 3.1}};
  }
}

TrueOutline panel_outline() {
  constexpr double half_x = 350, half_y = 300, round = 40, spacing = 20;
  TrueOutline outline;
  for (int side = 0; side < 4; ++side) {
    const double turn = side * std::numbers::pi / 2;
    const geometry::Rigid2 placed{turn, Vec2::Zero()};
    const double out = side % 2 == 0 ? half_x : half_y, along = (side % 2 == 0 ? half_y : half_x) - round;
    const int steps = static_cast<int>(2 * along / spacing);
    for (int i = 0; i < steps; ++i) {
      outline.points.push_back(placed * Vec2(out, -along + 2 * along * i / steps));
      outline.normals.push_back(placed * Vec2(1, 0));
    }
    for (int i = 0; i < 4; ++i) {
      const Vec2 normal(std::cos(i * std::numbers::pi / 8), std::sin(i * std::numbers::pi / 8));
      outline.points.push_back(placed * (Vec2(out - round, along) + round * normal));
      outline.normals.push_back(placed * normal);
    }
  }
  return outline;
}

Vec2 seen_at(const TrueCamera& camera, const Vec2& at_in_table, double height) {
  const Vec2 at_in_sensor =
      calib::photo_from_table(camera.lens, camera.pose, {at_in_table.x(), at_in_table.y(), height});
  return frame_of(camera).photo_from_sensor(at_in_sensor);
}

capture::Sighting sight(const TrueCamera& camera, const std::vector<SheetPlace>& sheets, double sigma_px,
                        const Vec2& print_scale) {
  const SensorFrame frame = frame_of(camera);
  capture::Sighting sighting;
  sighting.width = frame.width;
  sighting.height = frame.height;
  sighting.exif.make = "Invented";
  sighting.exif.model = "One";
  sighting.exif.focal_35mm = 26;
  sighting.exif.orientation = camera.orientation;
  for (const SheetPlace& place : sheets) {
    capture::SheetSighting seen;
    seen.number = place.number;
    const geometry::Rigid2 table_from_sheet{place.theta, place.centre};
    for (int k = 0; k < sheet::corners_per_sheet; ++k) {
      const Vec2 p = seen_at(camera, table_from_sheet * print_scale.cwiseProduct(sheet::corner(k)), 0);
      if (p.minCoeff() < 2 || p.x() > frame.width - 3 || p.y() > frame.height - 3) {
        ++seen.outside;
      } else {
        seen.corners.push_back({k, p, sigma_px});
      }
    }
    if (seen.corners.size() >= 12) sighting.sheets.push_back(seen);
  }
  return sighting;
}

void add_noise(capture::Sighting& sighting, double sigma_px, Random& random) {
  for (capture::SheetSighting& sheet_seen : sighting.sheets) {
    for (capture::CornerSighting& c : sheet_seen.corners) {
      c.at_in_photo.x() += random.normal(sigma_px);
      c.at_in_photo.y() += random.normal(sigma_px);
    }
  }
}

std::vector<double> shape_error(const TrueOutline& truth, const Polyline& measured) {
  const geometry::Rigid2 truth_from_measured = geometry::fit_rigid(measured, truth.points);
  const auto n = static_cast<Eigen::Index>(measured.size());
  Eigen::VectorXd along(n);
  Eigen::MatrixXd rigid(n, 3);
  for (Eigen::Index i = 0; i < n; ++i) {
    const Vec2 &p = truth.points[static_cast<std::size_t>(i)], &normal = truth.normals[static_cast<std::size_t>(i)];
    along[i] = normal.dot(truth_from_measured * measured[static_cast<std::size_t>(i)] - p);
    rigid.row(i) << normal.x(), normal.y(), normal.dot(Vec2(-p.y(), p.x()));
  }
  along -= rigid * rigid.colPivHouseholderQr().solve(along);
  return {along.begin(), along.end()};
}

SurveyOptions corners_decide(double wider) {
  SurveyOptions options;
  options.corner_sigma_floor_px = 0;
  options.robust_sigmas = 0;
  options.drop_sigmas = 1e12;
  options.print.long_bar_mm = sheet::long_bar;
  options.print.short_bar_mm = sheet::short_bar;
  options.print.sigma_mm = 1e-9;
  LensPrior& lens = options.lens;
  for (double* sigma : {&lens.focal_sigma, &lens.centre_sigma, &lens.distortion_mid_sigma,
                        &lens.distortion_corner_sigma, &lens.distortion_term_sigma, &lens.tangential_sigma}) {
    *sigma *= wider;
  }
  lens.breathing_sigma = 0;
  lens.stabiliser_sigma_px = 0;
  return options;
}

double rms(const std::vector<double>& values) {
  double sum = 0;
  for (double v : values) sum += v * v;
  return std::sqrt(sum / static_cast<double>(values.size()));
}

double worst(const std::vector<double>& values) {
  double most = 0;
  for (double v : values) most = std::max(most, std::abs(v));
  return most;
}

}  // namespace chalkfold::survey
