// SPDX-License-Identifier: Apache-2.0
#include "pipeline/survey/joint_shape.h"

#include <Eigen/Dense>
#include <map>

#include "pipeline/common/require.h"

namespace chalkfold::survey {
namespace {

/// A square root of a covariance: joint = root * root transposed.
Eigen::MatrixXd root_of(const Eigen::MatrixXd& joint) {
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> eigen(joint);
  return eigen.eigenvectors() * eigen.eigenvalues().cwiseMax(0).cwiseSqrt().asDiagonal();
}

Eigen::MatrixXd moves_of(const SharedView& shared, Eigen::Index first, const Eigen::MatrixXd& root,
                         const Polyline& points, const Polyline& normals, double height, double height_sigma) {
  constexpr int own = TableView::parameters;
  Eigen::MatrixXd moves = Eigen::MatrixXd::Zero(static_cast<Eigen::Index>(points.size()), root.cols() + 1);
  const geometry::Rigid2 turn{shared.table_from_panel.angle, Vec2::Zero()};
  for (std::size_t i = 0; i < points.size(); ++i) {
    if (shared.weights[i] <= 0) continue;
    const Vec2 at = shared.view->photo_from_table(shared.table_from_panel * points[i], height),
               normal = turn * normals[i];
    const auto row = static_cast<Eigen::Index>(i);
    moves.row(row).head(root.cols()) =
        normal.transpose() * shared.view->jacobian_at(at, height) * root.middleRows(first, own);
    const Vec2 by_height =
        0.5 * (shared.view->table_from_photo(at, height + 1) - shared.view->table_from_photo(at, height - 1));
    moves(row, root.cols()) = height_sigma * normal.dot(by_height);
  }
  return moves;
}

/// Takes from every column the rigid motion that explains it best, points weighed.
void remove_rigid(Eigen::MatrixXd& moves, const Eigen::MatrixXd& rigid, const Eigen::VectorXd& weight) {
  if ((weight.array() > 0).count() < 4) return;
  const Eigen::MatrixXd weighed = weight.asDiagonal() * rigid;
  moves -= rigid * weighed.colPivHouseholderQr().solve(weight.asDiagonal() * moves);
}

}  // namespace

JointShape joint_shape(const std::vector<SharedView>& views, const Eigen::MatrixXd& joint, const Polyline& points,
                       const Polyline& normals, double height, double height_sigma) {
  constexpr int own = TableView::parameters;
  require_equal("normals", normals.size(), points.size());
  require_equal<Eigen::Index>("rows of the joint covariance", joint.rows(),
                              own * static_cast<Eigen::Index>(views.size()));
  require_equal("columns of the joint covariance", joint.cols(), joint.rows());
  for (const SharedView& shared : views) {
    require(shared.view != nullptr, "a photo's share in the panel has no view");
    require_equal("weights of a view", shared.weights.size(), points.size());
  }
  const auto n = static_cast<Eigen::Index>(points.size());
  const Eigen::MatrixXd root = root_of(joint);
  Vec2 middle = Vec2::Zero();
  for (const Vec2& p : points) middle += p / static_cast<double>(n);
  Eigen::MatrixXd rigid(n, 3);
  for (Eigen::Index i = 0; i < n; ++i) {
    const Vec2 &normal = normals[static_cast<std::size_t>(i)], arm = points[static_cast<std::size_t>(i)] - middle;
    rigid.row(i) << normal.x(), normal.y(), normal.y() * arm.x() - normal.x() * arm.y();
  }
  std::vector<Eigen::MatrixXd> moves;
  std::map<int, std::pair<Eigen::MatrixXd, Eigen::VectorXd>>
      frames;  // mean moves over a frame's views, and the sum of their weights
  for (std::size_t v = 0; v < views.size(); ++v) {
    moves.push_back(
        moves_of(views[v], own * static_cast<Eigen::Index>(v), root, points, normals, height, height_sigma));
    auto& [mean, weight] =
        frames.try_emplace(views[v].frame, Eigen::MatrixXd::Zero(n, root.cols() + 1), Eigen::VectorXd::Zero(n))
            .first->second;
    const Eigen::Map<const Eigen::VectorXd> own_weight(views[v].weights.data(), n);
    mean += own_weight.asDiagonal() * moves.back();
    weight += own_weight;
  }
  Eigen::MatrixXd total = Eigen::MatrixXd::Zero(n, root.cols() + 1);
  std::map<int, Eigen::MatrixXd> motions;  // of each frame: what laying it on the others takes away
  for (auto& [frame, part] : frames) {
    auto& [mean, weight] = part;
    mean = weight.cwiseMax(1e-12).cwiseInverse().asDiagonal() * mean;
    const Eigen::MatrixXd before = mean;
    remove_rigid(mean, rigid, weight);
    motions[frame] = before - mean;
    total += weight.asDiagonal() * mean;
  }
  JointShape shape;
  for (std::size_t v = 0; v < views.size(); ++v) {
    const Eigen::MatrixXd apart = moves[v] - motions[views[v].frame] - total;
    shape.apart.emplace_back(static_cast<std::size_t>(n), 0.0);
    for (Eigen::Index i = 0; i < n; ++i)
      if (views[v].weights[static_cast<std::size_t>(i)] > 0)
        shape.apart.back()[static_cast<std::size_t>(i)] = apart.row(i).norm();
  }
  remove_rigid(total, rigid, Eigen::VectorXd::Ones(n));
  for (Eigen::Index i = 0; i < n; ++i) shape.sigma.push_back(total.row(i).norm());
  return shape;
}

}  // namespace chalkfold::survey
