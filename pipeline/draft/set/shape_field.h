// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <Eigen/Dense>
#include <array>
#include <optional>
#include <vector>

#include "pipeline/draft/piece/piece.h"

namespace chalkfold::draft {

/// mm, between corners or marks of a piece with an axis that are each other's image. It was made symmetric to rounding, but one that is
/// scaled for a change almost along its axis matches only within 0.1 mm for every 500 mm of its width; corners are further apart.
inline constexpr double symmetric_within = 0.5;

/// A place on a piece's sew line: index of its edge, mm from that edge's start.
struct EdgePlace {
  std::size_t edge = 0;
  double along = 0;
};

/// A stretch of sew line ready to be measured after it was moved: its length is the sum of weight * |tangent + slope q|.
struct ArcNodes {
  /// mm
  std::vector<double> weight;
  /// unit
  Polyline tangent;
  /// 2 rows a node: how its tangent changes with the unknowns
  Eigen::MatrixXd slope;
};

/// How the outline of one piece may move: the whole is stretched (2 x 2 symmetric, about its middle), and on top of that every edge moves as a
/// clamped uniform cubic B-spline in its arc length (C. de Boor, "On calculating with B-splines", 1972) whose outermost control points
/// are the corners, shared with the neighbours. A straight edge stays straight: inside it control points slide along only. A
/// symmetric piece (Piece::axis) stays exactly symmetric: images share their unknowns, what lies on the axis moves along it. A
/// piece without corners is only stretched. Tangents stay continuous. Everything is linear in the unknowns q: mm for
/// control points, shares for the stretch (q0 along `along`, q1 across, q2 both, without an axis).
class ShapeField {
 public:
  /// Precondition: at least one edge, each with a segment; edges end to end, closed, counter-clockwise; spacing > 0. `spacing`: mm between control points, about.
  ShapeField(const Piece& piece, double spacing);

  Eigen::Index size() const { return size_; }
  Eigen::Index stretch_size() const { return mirror_ ? 2 : 3; }
  const Vec2& along() const { return along_; }

  /// 2 x size: displacement of any point by the stretch.
  Eigen::MatrixXd stretched(const Vec2& p) const { return stretch_of(p - middle_); }
  /// 2 x size: change of a vector by the stretch.
  Eigen::MatrixXd stretch_of(const Vec2& vector) const;
  /// 2 x size: displacement by the control points alone, and its change per mm along the edge.
  Eigen::MatrixXd local(const EdgePlace& place) const;
  Eigen::MatrixXd local_slope(const EdgePlace& place) const;

  std::size_t edge_count() const { return edges_.size(); }
  double edge_length(std::size_t edge) const { return edges_[edge].length; }
  /// without control points
  bool is_bare() const { return bare_; }
  /// Control points of an edge, its corners included; 2 x size each.
  std::size_t control_count(std::size_t edge) const { return edges_[edge].points.size(); }
  Eigen::MatrixXd control(std::size_t edge, std::size_t i) const;
  /// The edge that is the mirror image of this one; none without an axis.
  std::optional<std::size_t> image_of(std::size_t edge) const;

  ArcNodes arc(std::size_t edge, double from, double to) const;

  /// The edge as q moves it; tangents stay continuous. Straight edges stay lines; what lines stay, stays a line.
  geometry::Curve moved_edge(std::size_t edge, const Eigen::VectorXd& q) const;

  /// Where points of the sew line about `step` mm apart lie, and where on their edge.
  struct Sample {
    EdgePlace place;
    Vec2 point = Vec2::Zero();
  };
  std::vector<Sample> samples(double step) const;

 private:
  struct Edge {
    double length = 0;
    geometry::Curve sew;
    /// arc length at the end of each segment
    std::vector<double> ends;
    /// of its spline
    std::size_t spans = 1;
    /// control points, indices in rows_ / 2
    std::vector<std::size_t> points;
    bool straight = false;
  };
  struct Basis {
    std::size_t first = 0;
    std::array<double, 4> value{}, slope{};
  };
  void take_edges(const Piece& piece, double spacing);
  void find_images(const Piece& piece);
  void lay_unknowns();
  Eigen::MatrixXd rows(std::size_t point) const;
  void tie_straight(const Edge& edge, std::size_t i, Eigen::Index& next);
  Basis basis(const Edge& edge, double along) const;
  Eigen::MatrixXd blended(const Edge& edge, std::size_t first, const std::array<double, 4>& weights) const;
  Vec2 moved_tangent(const EdgePlace& at, const Vec2& tangent, const Eigen::VectorXd& q) const;
  geometry::CurveSegment moved_part(std::size_t edge, const geometry::CurveSegment& part, double from, double to,
                                    const Eigen::VectorXd& q) const;

  std::vector<Edge> edges_;
  /// of edges
  std::vector<std::size_t> images_;
  bool mirror_ = false, bare_ = false;
  Vec2 middle_ = Vec2::Zero(), along_ = Vec2::UnitX();
  Eigen::Index size_ = 0;
  /// 2 rows a control point
  Eigen::MatrixXd rows_;
};

}  // namespace chalkfold::draft
