// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/set/moved_piece.h"

#include <gtest/gtest.h>

#include <cstdio>

#include "pipeline/geometry/polygon.h"
#include "tests/draft/sewn_set.h"

namespace chalkfold::draft {
namespace {
using namespace drawn;

class MovedPiece : public testing::Test {
 protected:
  Piece piece_ = exact_piece(cushion_top());
  std::vector<Body> bodies_ = bodies_of({piece_}, 60);
  Eigen::VectorXd q_ = Eigen::VectorXd::Zero(bodies_[0].size);
};

TEST_F(MovedPiece, NothingIsDoneWhenNothingMoves) {
  q_[4] = 1e-9;
  const Piece moved = moved_piece(piece_, bodies_[0], q_);
  EXPECT_FALSE(moved.adjusted);
  EXPECT_EQ(moved.edges[0].sew[0].from, piece_.edges[0].sew[0].from);
}

TEST_F(MovedPiece, AStretchStretchesAreaMarksAndWhatLiesInside) {
  piece_.holes = {{Vec2(100, 100), 4}};
  piece_.grain = {Vec2(200, 100), Vec2(200, 300)};
  q_[0] = q_[1] = 0.01;
  const Piece moved = moved_piece(piece_, bodies_[0], q_);
  EXPECT_TRUE(moved.adjusted);
  const double grown = 1.01 * 1.01;
  EXPECT_NEAR(geometry::signed_area(moved.sew_line) / geometry::signed_area(piece_.sew_line), grown, 1e-3);
  ASSERT_EQ(moved.marks.size(), piece_.marks.size());
  for (std::size_t m = 0; m < moved.marks.size(); ++m)
    EXPECT_NEAR(moved.marks[m].along, 1.01 * piece_.marks[m].along, 0.01);
  EXPECT_NEAR(((*moved.grain)[1] - (*moved.grain)[0]).norm(), 202, 1e-6);
  EXPECT_NEAR((moved.holes[0].first - (*moved.grain)[0]).norm(), 101, 1e-6);
  EXPECT_EQ(moved.holes[0].second, 4) << "a drill keeps its diameter";
}

TEST_F(MovedPiece, AMarkSlidesAlongItsEdge) {
  const auto slide = bodies_[0].slides[0];
  ASSERT_TRUE(slide);
  q_[slide->index] = 2;
  const Piece moved = moved_piece(piece_, bodies_[0], q_);
  EXPECT_NEAR(moved.marks[0].along - piece_.marks[0].along, 2 * slide->sign, 1e-6);
  EXPECT_NEAR(moved.marks[1].along, piece_.marks[1].along, 1e-6);
}

TEST_F(MovedPiece, MovesAreToldWithoutTheRigidMotion) {
  const Body& body = bodies_[0];
  const auto samples = body.field.samples(8);
  Eigen::MatrixXd rows(static_cast<Eigen::Index>(2 * samples.size()), body.field.size());
  Eigen::VectorXd shift(rows.rows());
  for (std::size_t i = 0; i < samples.size(); ++i) {
    rows.middleRows(static_cast<Eigen::Index>(2 * i), 2) = body.field.local(samples[i].place);
    shift.segment<2>(static_cast<Eigen::Index>(2 * i)) = Vec2(3, -1);
  }
  q_.head(body.field.size()) = rows.colPivHouseholderQr().solve(shift);
  ASSERT_LT((rows * q_.head(body.field.size()) - shift).norm(), 1e-6) << "the unknowns can shift the piece";
  EXPECT_LT(moves_of(piece_, piece_, body, q_).largest, 1e-6);
}

/// Where a fault says it is, mm.
Vec2 place_of(const Fault& fault) {
  Vec2 p = Vec2::Zero();
  EXPECT_EQ(std::sscanf(fault.seen.substr(fault.seen.find("at x")).c_str(), "at x %lf, y %lf", &p.x(), &p.y()), 2);
  return p;
}

TEST_F(MovedPiece, FaultsOfAMirroredPieceTellPlacesOnItself) {
  Piece piece;
  piece.name = "left wing";
  const std::vector<geometry::Curve> edges = {
      {line({0, 0}, {300, 0})},
      {line({300, 0}, {300, 200})},
      {line({300, 200}, {160, 200})},
      {arc({160, 200}, {120, 200}, {140, 206}, false)},  // a dip tighter than the allowance
      {line({120, 200}, {0, 200})},
      {line({0, 200}, {0, 0})}};
  for (const geometry::Curve& curve : edges) {
    PieceEdge edge;
    edge.number = static_cast<int>(piece.edges.size()) + 1;
    edge.sew = curve;
    edge.allowance = 30;
    piece.edges.push_back(edge);
  }
  const std::vector<Body> bodies = bodies_of({piece}, 60);
  Eigen::VectorXd q = Eigen::VectorXd::Zero(bodies[0].size);
  q[0] = 0.01;
  const Piece moved = moved_piece(piece, bodies[0], q);
  Piece own = mirror_image(piece);
  own.name = "right wing";
  const Piece image = moved_image(moved, own);
  const auto told = [](const Piece& of) -> Fault {
    for (const Fault& fault : of.faults)
      if (fault.code == "allowance-folds") return fault;
    return {"none", Severity::note, "at x 0, y 0", "", "", ""};
  };
  ASSERT_EQ(told(moved).code, "allowance-folds");
  constexpr double half_dip = 22;  // mm: the dip is 40 mm wide, stretched by 1 %; either end of it may be named
  EXPECT_NEAR(place_of(told(moved)).x(), 140, half_dip);
  EXPECT_NEAR(place_of(told(image)).x(), -140, half_dip);
  EXPECT_EQ(told(image).panel, "right wing");
}

}  // namespace
}  // namespace chalkfold::draft
