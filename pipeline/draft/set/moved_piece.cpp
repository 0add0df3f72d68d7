// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/set/moved_piece.h"

#include <algorithm>
#include <cmath>

#include "pipeline/draft/piece/labels.h"
#include "pipeline/draft/piece/lay_lines.h"
#include "pipeline/geometry/offset.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/robust.h"

namespace chalkfold::draft {
namespace {

constexpr double no_move = 1e-6;  // mm
constexpr double step = 8;        // mm, of the outline's samples

/// Movement of points inside, from samples of the outline.
class InnerMoves {
 public:
  InnerMoves(const ShapeField& field, const Eigen::VectorXd& q) : field_(field), q_(q) {
    for (const ShapeField::Sample& s : field.samples(step)) {
      points_.push_back(s.point);
      moves_.emplace_back(field.local(s.place) * q);
    }
  }
  Vec2 operator()(const Vec2& p) const {
    Vec2 sum = Vec2::Zero();
    double weights = 0;
    for (std::size_t i = 0; i < points_.size(); ++i) {
      const double w = 1 / ((points_[i] - p).squaredNorm() + 1e-6);
      sum += w * moves_[i];
      weights += w;
    }
    return p + field_.stretched(p) * q_ + sum / weights;
  }

 private:
  const ShapeField& field_;
  const Eigen::VectorXd& q_;
  Polyline points_, moves_;
};

double largest_move(const Piece& piece, const Body& body, const Eigen::VectorXd& q) {
  double largest = 0;
  for (const ShapeField::Sample& s : body.field.samples(step))
    largest = std::max(
        largest, ((body.field.stretched(s.point) + body.field.local(s.place)) * q.head(body.field.size())).norm());
  for (std::size_t m = 0; m < piece.marks.size(); ++m)
    if (body.slides[m]) largest = std::max(largest, std::abs(q[body.slides[m]->index]));
  return largest;
}

/// Sew line and crossings of the new edges.
void lay_sew_line(Piece& piece) {
  std::vector<geometry::OffsetEdge> edges;
  for (const PieceEdge& edge : piece.edges) edges.push_back({edge.sew, 0});
  geometry::OffsetOptions options;
  options.keep_cubics = true;
  const geometry::OffsetResult sew = geometry::offset_edges(edges, options);
  tell_troubles(piece, sew, "sew line", 0);
  piece.sew_line = sew.line;
}

void move_marks(Piece& moved, const Piece& piece, const Body& body, const Eigen::VectorXd& q) {
  for (std::size_t m = 0; m < moved.marks.size(); ++m) {
    PieceMark& mark = moved.marks[m];
    const auto e = index_of_edge(moved, mark.edge);
    if (!e) continue;
    IntervalSide before;
    before.length = piece.marks[m].along;
    before.arcs.push_back(body.field.arc(*e, 0, before.length));
    before.at_end = body.slides[m];
    mark.along = std::clamp(length_of(before, q.data()), 0.0, geometry::length(moved.edges[*e].sew));
    put_mark(mark, moved.edges[*e]);
  }
}

void move_inside(Piece& moved, const InnerMoves& to) {
  for (Polyline& cutout : moved.cutouts)
    for (Vec2& p : cutout) p = to(p);
  for (auto& [centre, diameter] : moved.holes) centre = to(centre);
  if (moved.grain)
    for (Vec2& p : *moved.grain) p = to(p);
  if (moved.underside) moved.underside = to(*moved.underside);
}

/// The median of the edges' allowances, for the faults' words.
double usual_allowance(const Piece& piece) {
  std::vector<double> all;
  for (const PieceEdge& edge : piece.edges) all.push_back(edge.allowance);
  return geometry::median(std::move(all));
}

/// Faults of a piece's lines. They are laid on a copy: an image's own stay the image of the other's to the last bit.
Faults line_faults(Piece piece, double mitre_limit) {
  piece.faults.clear();
  lay_sew_line(piece);
  lay_cut_line(piece, mitre_limit, usual_allowance(piece));
  return piece.faults;
}

/// What the lines and labels told before is told anew.
void forget_line_faults(Piece& piece) {
  std::erase_if(piece.faults, [](const Fault& f) {
    return f.code == "labels-dropped" || f.code == "allowance-folds" || f.code == "sew-line-crosses";
  });
}

}  // namespace

Piece moved_piece(const Piece& piece, const Body& body, const Eigen::VectorXd& q, double mitre_limit) {
  if (largest_move(piece, body, q) < no_move) return piece;
  Piece moved = piece;
  moved.adjusted = true;
  forget_line_faults(moved);
  const Eigen::VectorXd shape = q.head(body.field.size());
  for (std::size_t e = 0; e < moved.edges.size(); ++e) moved.edges[e].sew = body.field.moved_edge(e, shape);
  for (std::size_t e = 0; e < moved.edges.size(); ++e)  // end to end to the last bit
    moved.edges[(e + 1) % moved.edges.size()].sew.front().from = moved.edges[e].sew.back().to;
  lay_sew_line(moved);
  lay_cut_line(moved, mitre_limit, usual_allowance(moved));
  move_marks(moved, piece, body, q);
  move_inside(moved, InnerMoves(body.field, shape));
  if (piece.axis) {
    geometry::MirrorAxis axis;
    axis.point = (*piece.axis)[0];
    axis.direction = ((*piece.axis)[1] - (*piece.axis)[0]).normalized();
    draw_axis(moved, axis);
  }
  place_labels(moved);
  return moved;
}

Piece moved_image(const Piece& moved, const Piece& own, double mitre_limit) {
  Piece image = mirror_image(moved);
  image.name = own.name;
  image.part = own.part;
  image.material = own.material;
  image.number = own.number;
  image.quantity = own.quantity;
  image.one_mirrored = own.one_mirrored;
  image.measured_on = own.measured_on;
  image.U = own.U;
  image.side = own.side;
  image.piece_from_panel = own.piece_from_panel;
  for (std::size_t m = 0; m < image.marks.size() && m < own.marks.size(); ++m)
    image.marks[m].origin = own.marks[m].origin;
  image.faults = own.faults;
  forget_line_faults(image);
  const Faults lines = line_faults(image, mitre_limit);
  image.faults.insert(image.faults.end(), lines.begin(), lines.end());
  place_labels(image);
  return image;
}

PieceMoves moves_of(const Piece& piece, const Piece& moved, const Body& body, const Eigen::VectorXd& q) {
  PieceMoves moves;
  moves.piece = piece.name;
  moves.fixed = body.fixed;
  Polyline after;
  const Eigen::VectorXd shape = q.head(body.field.size());
  for (const ShapeField::Sample& s : body.field.samples(step)) {
    moves.before.push_back(s.point);
    after.emplace_back(s.point + (body.field.stretched(s.point) + body.field.local(s.place)) * shape);
  }
  const geometry::Rigid2 back = geometry::fit_rigid(after, moves.before);
  double squares = 0;
  for (std::size_t i = 0; i < after.size(); ++i) {
    moves.moves.push_back(back * after[i] - moves.before[i]);
    squares += moves.moves.back().squaredNorm();
    moves.largest = std::max(moves.largest, moves.moves.back().norm());
  }
  moves.rms = std::sqrt(squares / static_cast<double>(after.size()));
  for (const PieceEdge& edge : piece.edges) moves.edge_before.push_back(geometry::length(edge.sew));
  for (const PieceEdge& edge : moved.edges) moves.edge_after.push_back(geometry::length(edge.sew));
  return moves;
}

}  // namespace chalkfold::draft
