// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/set/shape_field.h"

#include <gtest/gtest.h>

#include "pipeline/draft/change/compensated_piece.h"
#include "pipeline/geometry/polygon.h"
#include "tests/draft/sewn_set.h"

namespace chalkfold::draft {
namespace {
using namespace drawn;

Eigen::VectorXd some_move(const ShapeField& field, double size, std::uint32_t seed = 5) {
  std::mt19937 random(seed);
  Eigen::VectorXd q(field.size());
  for (Eigen::Index i = 0; i < q.size(); ++i) {
    const double unit = random() / 2147483648.0 - 1;
    q[i] = i < field.stretch_size() ? 0.01 * unit : size * unit;
  }
  return q;
}

double moved_length(const ArcNodes& arc, const Eigen::VectorXd& q) {
  double sum = 0;
  for (std::size_t k = 0; k < arc.weight.size(); ++k)
    sum += arc.weight[k] * (arc.tangent[k] + arc.slope.middleRows(static_cast<Eigen::Index>(2 * k), 2) * q).norm();
  return sum;
}

TEST(ShapeField, ArcsHaveTheLengthOfTheSewLine) {
  const Piece piece = exact_piece(cushion_top());
  const ShapeField field(piece, 60);
  const Eigen::VectorXd none = Eigen::VectorXd::Zero(field.size());
  for (std::size_t e = 0; e < 4; ++e) {
    const double whole = geometry::length(piece.edges[e].sew);
    EXPECT_NEAR(moved_length(field.arc(e, 0, whole), none), whole, 1e-9);
    EXPECT_NEAR(moved_length(field.arc(e, 30, 130), none), 100, 1e-9);
  }
}

TEST(ShapeField, SlopeIsTheDerivativeOfTheMovement) {
  const ShapeField field(exact_piece(cushion_top()), 60);
  const Eigen::VectorXd q = some_move(field, 3);
  constexpr double h = 1e-4;  // mm
  for (std::size_t e = 0; e < 4; ++e)
    for (double along : {5.0, 59.0, 123.4, 300.0}) {
      const Vec2 difference = (field.local({e, along + h}) - field.local({e, along - h})) * q / (2 * h);
      EXPECT_LT((difference - field.local_slope({e, along}) * q).norm(), 1e-7) << "edge " << e << " at " << along;
    }
}

TEST(ShapeField, NeighboursMoveTheirCornerTogether) {
  const ShapeField field(exact_piece(front()), 60);
  const Eigen::VectorXd q = some_move(field, 3);
  for (std::size_t e = 0; e < 4; ++e)
    EXPECT_LT(((field.local({e, field.edge_length(e)}) - field.local({(e + 1) % 4, 0})) * q).norm(), 1e-12);
}

TEST(ShapeField, TheMovedEdgeHasTheLengthThatTheArcTells) {
  const Piece piece = exact_piece(cushion_top());
  const ShapeField field(piece, 60);
  const Eigen::VectorXd q = some_move(field, 1.5);
  for (std::size_t e = 0; e < 4; ++e) {
    const double whole = geometry::length(piece.edges[e].sew);
    EXPECT_NEAR(geometry::length(field.moved_edge(e, q)), moved_length(field.arc(e, 0, whole), q), 0.01)
        << "edge " << e;
  }
}

TEST(ShapeField, AStretchAloneIsTheStretchOfThePoints) {
  const Piece piece = exact_piece(cushion_top());
  const ShapeField field(piece, 60);
  Eigen::VectorXd q = Eigen::VectorXd::Zero(field.size());
  q.head(3) << 0.02, -0.01, 0.005;
  const geometry::Curve edge = field.moved_edge(0, q);
  for (double along : {40.0, 150.0, 260.0}) {
    const Vec2 p = geometry::place_along(piece.edges[0].sew, along).point;
    EXPECT_LT(geometry::distance_to(geometry::flattened(edge, 1e-4), p + field.stretched(p) * q, false), 1e-3);
  }
}

TEST(ShapeField, AStraightEdgeStaysALine) {
  const ShapeField field(exact_piece(front()), 60);
  const Eigen::VectorXd q = some_move(field, 3);
  const geometry::Curve edge = field.moved_edge(0, q);
  ASSERT_EQ(edge.size(), 1u);
  EXPECT_EQ(edge[0].kind, geometry::CurveSegment::Kind::line);
}

TEST(ShapeField, APieceScaledAlmostAlongItsAxisIsSymmetricStill) {
  Piece piece = exact_piece({"wedge", {{0, 0}, {600, 0}, {500, 400}, {100, 400}}, {0, 0, 0, 0}, {{}, {}, {}, {}}});
  piece.axis = {Vec2(300, 0), Vec2(300, 400)};
  constexpr double askew = 0.003;  // rad, of the grain to the axis: 0.018 % of a length, so that the axis is kept
  const Piece scaled = compensated_piece(piece, {-3, 0, Vec2(std::sin(askew), std::cos(askew))});
  ASSERT_TRUE(scaled.axis);
  const ShapeField field(scaled, 60);
  EXPECT_EQ(field.image_of(1), 3u);
}

}  // namespace
}  // namespace chalkfold::draft
