// SPDX-License-Identifier: Apache-2.0
#include "pipeline/survey/bundle.h"

#include <Eigen/Dense>

#include "pipeline/common/require.h"
#include "pipeline/survey/bundle_blocks.h"

namespace chalkfold::survey {

BundleResult solve_bundle(Bundle& bundle, BundleStage stage) {
  BundleResult result;
  Blocks blocks(bundle);
  blocks.hold(bundle, stage);
  ceres::Solver::Options options;
  options.linear_solver_type = bundle.photos.size() > 4 ? ceres::DENSE_SCHUR : ceres::DENSE_QR;
  options.max_num_iterations = 200;
  options.function_tolerance = 1e-15;
  options.gradient_tolerance = 1e-14;
  options.parameter_tolerance = 1e-13;
  options.num_threads = 1;  // the order of sums must not depend on the machine
  options.logging_type = ceres::SILENT;
  ceres::Solver::Summary summary;
  ceres::Solve(options, &blocks.problem(), &summary);
  if (!summary.IsSolutionUsable()) {
    result.why = summary.message;
    return result;
  }
  blocks.copy_back(bundle);
  double sum = 0;
  for (const BundleObservation& o : bundle.observations) sum += bundle_residual(bundle, o).squaredNorm();
  result.ok = true;
  result.rms_px = std::sqrt(sum / std::max<double>(1, static_cast<double>(bundle.observations.size())));
  result.cost = summary.final_cost;
  result.iterations = static_cast<int>(summary.iterations.size());
  return result;
}

Vec2 bundle_residual(const Bundle& bundle, const BundleObservation& o) {
  const BundlePhoto& p = bundle.photos[static_cast<std::size_t>(o.photo)];
  const BundleBoard& b = bundle.boards[static_cast<std::size_t>(o.board)];
  const Photo9 photo{0,
                     0,
                     0,
                     p.pose.translation.x(),
                     p.pose.translation.y(),
                     p.pose.translation.z(),
                     p.focal_change,
                     p.centre_shift.x(),
                     p.centre_shift.y()};
  const Board3 board{b.centre.x(), b.centre.y(), b.theta};
  const double print[2] = {bundle.print_scale.x(), bundle.print_scale.y()};
  Vec2 difference;
  ReprojectionCost{p.pose.rotation, o.on_board, o.at_in_sensor, 1.0}(
      bundle.lenses[static_cast<std::size_t>(p.lens)].value.data(), photo.data(), board.data(), print,
      difference.data());
  return -difference;
}

calib::Lens effective_lens(const Bundle& bundle, int photo, int width, int height) {
  require_index("photo", static_cast<std::size_t>(photo), bundle.photos.size());
  const BundlePhoto& p = bundle.photos[static_cast<std::size_t>(photo)];
  require_index("lens of the photo", static_cast<std::size_t>(p.lens), bundle.lenses.size());
  const auto& v = bundle.lenses[static_cast<std::size_t>(p.lens)].value;
  require(v[BundleLens::aspect] == 1 && v[BundleLens::skew] == 0,
          "a lens with aspect or skew has no place in a TableView");
  calib::Lens lens;
  lens.width = width;
  lens.height = height;
  lens.focal_px = v[BundleLens::focal] * (1 + p.focal_change);
  lens.centre_x_px = v[BundleLens::centre_x] + p.centre_shift.x();
  lens.centre_y_px = v[BundleLens::centre_y] + p.centre_shift.y();
  lens.k1 = v[BundleLens::k1];
  lens.k2 = v[BundleLens::k2];
  lens.p1 = v[BundleLens::p1];
  lens.p2 = v[BundleLens::p2];
  lens.k3 = v[BundleLens::k3];
  return lens;
}

calib::Pose pose_from_plane(const Polyline& on_plane, const Polyline& ideal) {
  require_at_least("points on the plane", on_plane.size(), 4);
  require_equal("ideal points", ideal.size(), on_plane.size());
  // Direct linear transform with both sides brought to unit spread (R. Hartley, "In defense of the eight-point algorithm", 1997).
  const auto normaliser = [](const Polyline& points) {
    Vec2 mean = Vec2::Zero();
    for (const Vec2& p : points) mean += p / static_cast<double>(points.size());
    double spread = 0;
    for (const Vec2& p : points) spread += (p - mean).norm() / static_cast<double>(points.size());
    require_above("spread of the points", spread, 0);
    Mat3 t = Mat3::Identity();
    t(0, 0) = t(1, 1) = 1 / spread;
    t.topRightCorner<2, 1>() = -mean / spread;
    return t;
  };
  const Mat3 tp = normaliser(on_plane), ti = normaliser(ideal);
  Eigen::MatrixXd a = Eigen::MatrixXd::Zero(2 * static_cast<Eigen::Index>(on_plane.size()), 9);
  for (std::size_t i = 0; i < on_plane.size(); ++i) {
    const Vec3 p = tp * on_plane[i].homogeneous();
    const Vec2 q = (ti * ideal[i].homogeneous()).head<2>();
    const auto r = 2 * static_cast<Eigen::Index>(i);
    a.block<1, 3>(r, 0) = p.transpose();
    a.block<1, 3>(r, 6) = -q.x() * p.transpose();
    a.block<1, 3>(r + 1, 3) = p.transpose();
    a.block<1, 3>(r + 1, 6) = -q.y() * p.transpose();
  }
  const Eigen::JacobiSVD<Eigen::MatrixXd> svd(a, Eigen::ComputeFullV);
  const Eigen::Matrix<double, 9, 1> h = svd.matrixV().col(8);
  Mat3 hn;
  hn << h.segment<3>(0).transpose(), h.segment<3>(3).transpose(), h.segment<3>(6).transpose();
  Mat3 plane_to_ideal = ti.inverse() * hn * tp;
  const double scale = 0.5 * (plane_to_ideal.col(0).norm() + plane_to_ideal.col(1).norm());
  plane_to_ideal /= plane_to_ideal(2, 2) > 0 ? scale : -scale;  // the plane's origin lies in front of the camera
  Mat3 r;
  r.col(0) = plane_to_ideal.col(0);
  r.col(1) = plane_to_ideal.col(1);
  r.col(2) = r.col(0).cross(r.col(1));
  const Eigen::JacobiSVD<Mat3> nearest(r, Eigen::ComputeFullU | Eigen::ComputeFullV);
  calib::Pose pose;
  pose.rotation = nearest.matrixU() * nearest.matrixV().transpose();
  pose.translation = plane_to_ideal.col(2);
  return pose;
}

}  // namespace chalkfold::survey
