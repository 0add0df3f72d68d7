// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/set/shape_field.h"

#include <algorithm>
#include <cmath>

#include "pipeline/common/require.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/vectors.h"

namespace chalkfold::draft {
namespace {

constexpr double still_straight = 1e-3;  // mm, of a handle beside the chord
constexpr double widest_arc = 0.8;       // rad, of one cubic that stands for an arc: off by 1e-6 of its radius

/// Knot i of a clamped uniform spline of `spans` spans, in spans.
double knot(std::size_t spans, std::size_t i) {
  if (i <= 3) return 0;
  return std::min(static_cast<double>(i - 3), static_cast<double>(spans));
}

/// Where control point i would lie on an edge that is not bent, 0..1 (T. N. E. Greville's abscissa).
double abscissa(std::size_t spans, std::size_t i) {
  return (knot(spans, i + 1) + knot(spans, i + 2) + knot(spans, i + 3)) / (3 * static_cast<double>(spans));
}

bool is_straight(const geometry::Curve& curve) {
  return curve.size() == 1 && curve[0].kind == geometry::CurveSegment::Kind::line;
}

/// Parameters of a segment that is passed from `from` to `to`, mm from its start.
std::pair<double, double> parameters(const geometry::CurveSegment& s, double length, double from, double to) {
  return {from <= 0 ? 0 : geometry::parameter_at(s, from), to >= length ? 1 : geometry::parameter_at(s, to)};
}

/// The segment in parts of equal parameter.
geometry::Curve parts_of(const geometry::CurveSegment& segment, int count) {
  geometry::Curve parts;
  geometry::CurveSegment rest = segment;
  for (int left = count; left > 1; --left) {
    const double t = 1.0 / left;
    const geometry::CurveSegment head = geometry::first_part(rest, t);
    geometry::CurveSegment tail = geometry::first_part(geometry::reversed(rest), 1 - t);
    tail = geometry::reversed(tail);
    tail.from = head.to;
    parts.push_back(head);
    rest = tail;
  }
  parts.push_back(rest);
  return parts;
}

/// mm per unit of parameter.
double speed(const geometry::CurveSegment& s, double t) {
  if (s.kind != geometry::CurveSegment::Kind::cubic) return s.length();
  const double u = 1 - t;
  return (3 * (u * u * (s.control1 - s.from) + 2 * u * t * (s.control2 - s.control1) + t * t * (s.to - s.control2)))
      .norm();
}

}  // namespace

ShapeField::ShapeField(const Piece& piece, double spacing) {
  require_at_least("edges of the piece", piece.edges.size(), 1);
  for (const PieceEdge& edge : piece.edges) require_at_least("segments of an edge", edge.sew.size(), 1);
  require_above("spacing, mm,", spacing, 0);
  take_edges(piece, spacing);
  middle_ =
      geometry::centroid(piece.sew_line.size() > 2 ? piece.sew_line : geometry::flattened(piece.edges[0].sew, 0.1));
  if (piece.axis) {
    mirror_ = true;
    along_ = ((*piece.axis)[1] - (*piece.axis)[0]).normalized();
    middle_ = (*piece.axis)[0] + along_.dot(middle_ - (*piece.axis)[0]) * along_;
    find_images(piece);
  }
  lay_unknowns();
}

void ShapeField::take_edges(const Piece& piece, double spacing) {
  const std::size_t n = piece.edges.size();
  bare_ = n == 1;
  std::size_t next = n;  // the first n control points are the corners: i is where edge i starts
  for (std::size_t i = 0; i < n; ++i) {
    Edge edge;
    edge.sew = piece.edges[i].sew;
    for (const geometry::CurveSegment& s : edge.sew) edge.ends.push_back(edge.length += s.length());
    edge.straight = is_straight(edge.sew);
    edge.spans = std::max<std::size_t>(1, static_cast<std::size_t>(std::lround(edge.length / spacing)));
    edge.points.push_back(i);
    for (std::size_t k = 0; k <= edge.spans; ++k) edge.points.push_back(next++);
    edge.points.push_back((i + 1) % n);
    edges_.push_back(std::move(edge));
  }
  rows_.resize(static_cast<Eigen::Index>(2 * next), 0);
}

void ShapeField::find_images(const Piece& piece) {
  const Vec2 at = (*piece.axis)[0];
  const auto image = [&](const Vec2& p) { return Vec2(at + 2 * along_.dot(p - at) * along_ - (p - at)); };
  for (const Edge& edge : edges_) {
    const auto other = std::find_if(edges_.begin(), edges_.end(), [&](const Edge& e) {
      return (e.sew.front().from - image(edge.sew.back().to)).norm() < symmetric_within &&
             (e.sew.back().to - image(edge.sew.front().from)).norm() < symmetric_within &&
             e.points.size() == edge.points.size();
    });
    if (other == edges_.end()) throw PreconditionError("a piece with an axis is not symmetric about it: " + piece.name);
    images_.push_back(static_cast<std::size_t>(other - edges_.begin()));
  }
}

void ShapeField::tie_straight(const Edge& edge, std::size_t i, Eigen::Index& next) {
  const Vec2 t = edge.sew[0].direction(0), n = geometry::left_of(t);
  const double share = abscissa(edge.spans, i);
  const auto point = static_cast<Eigen::Index>(2 * edge.points[i]);
  const Eigen::MatrixXd level = (1 - share) * rows(edge.points.front()) + share * rows(edge.points.back());
  rows_.middleRows(point, 2) = n * (n.transpose() * level);
  if (next < size_) rows_.block(point, next++, 2, 1) = t;
}

/// Columns: the stretch (its rows stay 0), then control points in turn. Images get the mirrored rows of the one that came first.
void ShapeField::lay_unknowns() {
  const auto points = static_cast<std::size_t>(rows_.rows() / 2);
  const Eigen::Index most = stretch_size() + (bare_ ? 0 : rows_.rows());
  rows_ = Eigen::MatrixXd::Zero(rows_.rows(), most);
  size_ = most;
  Eigen::Index next = stretch_size();
  if (bare_) return;
  std::vector<bool> done(points, false);
  const Mat2 mirror = 2 * along_ * along_.transpose() - Mat2::Identity();
  const auto free = [&](std::size_t point) {
    rows_.block(static_cast<Eigen::Index>(2 * point), next, 2, 2).setIdentity();
    next += 2;
  };
  const auto along_axis = [&](std::size_t point) {
    rows_.block(static_cast<Eigen::Index>(2 * point), next++, 2, 1) = along_;
  };
  const auto reflect = [&](std::size_t image, std::size_t point) {
    rows_.middleRows(static_cast<Eigen::Index>(2 * image), 2) = mirror * rows(point);
    done[image] = true;
  };
  for (std::size_t corners = 1; corners <= 2; ++corners)  // corners first: straight edges hang on them
    for (std::size_t e = 0; e < edges_.size(); ++e) {
      const Edge& edge = edges_[e];
      const std::size_t last = edge.points.size() - 1;
      const std::size_t begin = corners == 1 ? 0 : 1, end = corners == 1 ? 1 : last;
      for (std::size_t i = begin; i < end; ++i) {
        const std::size_t point = edge.points[i];
        if (done[point]) continue;
        done[point] = true;
        const std::size_t image = mirror_ ? edges_[images_[e]].points[last - i] : point;
        const bool own_image = mirror_ && image == point;
        if (corners == 2 && edge.straight) {
          Eigen::Index none = size_;
          tie_straight(edge, i, own_image ? none : next);
        } else if (own_image) {
          along_axis(point);
        } else {
          free(point);
        }
        if (mirror_ && !own_image) reflect(image, point);
      }
    }
  rows_.conservativeResize(Eigen::NoChange, next);
  size_ = next;
}

Eigen::MatrixXd ShapeField::rows(std::size_t point) const {
  return rows_.middleRows(static_cast<Eigen::Index>(2 * point), 2);
}

Eigen::MatrixXd ShapeField::control(std::size_t edge, std::size_t i) const { return rows(edges_[edge].points[i]); }

std::optional<std::size_t> ShapeField::image_of(std::size_t edge) const {
  return mirror_ ? std::optional(images_[edge]) : std::nullopt;
}

/// Cox and de Boor's recursion, cut short after the second order for the slopes.
ShapeField::Basis ShapeField::basis(const Edge& edge, double along) const {
  const double span = edge.length / static_cast<double>(edge.spans);
  const double u = std::clamp(along / span, 0.0, static_cast<double>(edge.spans));
  Basis b;
  b.first = std::min(static_cast<std::size_t>(u), edge.spans - 1);
  std::array<double, 4> n{1, 0, 0, 0};
  std::array<double, 3> quadratic{};
  for (std::size_t degree = 1; degree <= 3; ++degree) {
    if (degree == 3) quadratic = {n[0], n[1], n[2]};
    double carried = 0;
    for (std::size_t r = 0; r < degree; ++r) {
      const double right = knot(edge.spans, b.first + 4 + r), left = knot(edge.spans, b.first + 4 + r - degree);
      const double part = n[r] / (right - left);
      n[r] = carried + (right - u) * part;
      carried = (u - left) * part;
    }
    n[degree] = carried;
  }
  b.value = n;
  for (std::size_t r = 0; r < 4; ++r) {
    const auto share = [&](std::size_t k) {  // of the quadratic function k that starts r + k knots on
      return 3 * quadratic[k] / (knot(edge.spans, b.first + k + 4) - knot(edge.spans, b.first + k + 1)) / span;
    };
    b.slope[r] = (r > 0 ? share(r - 1) : 0) - (r < 3 ? share(r) : 0);
  }
  return b;
}

Eigen::MatrixXd ShapeField::stretch_of(const Vec2& vector) const {
  Eigen::MatrixXd m = Eigen::MatrixXd::Zero(2, size_);
  const Vec2 across = geometry::left_of(along_);
  m.col(0) = along_.dot(vector) * along_;
  m.col(1) = across.dot(vector) * across;
  if (!mirror_) m.col(2) = along_.dot(vector) * across + across.dot(vector) * along_;
  return m;
}

Eigen::MatrixXd ShapeField::blended(const Edge& edge, std::size_t first, const std::array<double, 4>& weights) const {
  Eigen::MatrixXd m = Eigen::MatrixXd::Zero(2, size_);
  if (bare_) return m;
  for (std::size_t r = 0; r < 4; ++r)
    m += weights[r] * rows_.middleRows(static_cast<Eigen::Index>(2 * edge.points[first + r]), 2);
  return m;
}

Eigen::MatrixXd ShapeField::local(const EdgePlace& at) const {
  const Basis b = basis(edges_[at.edge], at.along);
  return blended(edges_[at.edge], b.first, b.value);
}

Eigen::MatrixXd ShapeField::local_slope(const EdgePlace& at) const {
  const Basis b = basis(edges_[at.edge], at.along);
  return blended(edges_[at.edge], b.first, b.slope);
}

ArcNodes ShapeField::arc(std::size_t index, double from, double to) const {
  constexpr std::array<double, 4> places{-0.861136311594053, -0.339981043584856, 0.339981043584856, 0.861136311594053};
  constexpr std::array<double, 4> weights{0.347854845137454, 0.652145154862546, 0.652145154862546, 0.347854845137454};
  constexpr double part_length = 25;  // mm: a few parts in each span
  const Edge& edge = edges_[index];
  ArcNodes nodes;
  std::vector<double> stations;
  for (std::size_t k = 0; k < edge.sew.size(); ++k) {
    const geometry::CurveSegment& s = edge.sew[k];
    const double start = k == 0 ? 0 : edge.ends[k - 1], length = edge.ends[k] - start;
    if (from >= edge.ends[k] || to <= start || length <= 0) continue;
    const auto [first, last] = parameters(s, length, from - start, to - start);
    const auto parts = std::max(1, static_cast<int>(std::ceil((last - first) * length / part_length)));
    const double step = (last - first) / parts;
    for (int part = 0; part < parts; ++part)
      for (std::size_t i = 0; i < places.size(); ++i) {
        const double t = first + (part + 0.5 + 0.5 * places[i]) * step;
        nodes.weight.push_back(0.5 * weights[i] * step * speed(s, t));
        nodes.tangent.push_back(s.direction(t));
        stations.push_back(
            start + (s.kind == geometry::CurveSegment::Kind::cubic ? geometry::first_part(s, t).length() : t * length));
      }
  }
  nodes.slope.resize(static_cast<Eigen::Index>(2 * stations.size()), size_);
  for (std::size_t k = 0; k < stations.size(); ++k)
    nodes.slope.middleRows(static_cast<Eigen::Index>(2 * k), 2) =
        stretch_of(nodes.tangent[k]) + local_slope({index, stations[k]});
  return nodes;
}

Vec2 ShapeField::moved_tangent(const EdgePlace& at, const Vec2& tangent, const Eigen::VectorXd& q) const {
  return tangent + (stretch_of(tangent) + local_slope(at)) * q;
}

/// `part` runs from `from` to `to` mm of its edge. The handles of its Bezier form are moved as vectors, which is exact where the movement is affine.
geometry::CurveSegment ShapeField::moved_part(std::size_t edge, const geometry::CurveSegment& part, double from,
                                              double to, const Eigen::VectorXd& q) const {
  double handle_from = (to - from) / 3, handle_to = handle_from;
  if (part.kind == geometry::CurveSegment::Kind::arc) {
    handle_from = handle_to = 4.0 / 3 * std::tan(std::abs(part.turned()) / 4) * part.radius();
  } else if (part.kind == geometry::CurveSegment::Kind::cubic) {
    handle_from = (part.control1 - part.from).norm();
    handle_to = (part.to - part.control2).norm();
  }
  const EdgePlace a{edge, from}, b{edge, to};
  geometry::CurveSegment moved;
  moved.kind = geometry::CurveSegment::Kind::cubic;
  moved.from = part.from + (stretched(part.from) + local(a)) * q;
  moved.to = part.to + (stretched(part.to) + local(b)) * q;
  moved.control1 = moved.from + handle_from * moved_tangent(a, part.direction(0), q);
  moved.control2 = moved.to - handle_to * moved_tangent(b, part.direction(1), q);
  const Vec2 along = (moved.to - moved.from).normalized();
  const double bend = std::max(std::abs(geometry::cross(along, moved.control1 - moved.from)),
                               std::abs(geometry::cross(along, moved.to - moved.control2)));
  if (part.kind == geometry::CurveSegment::Kind::line && bend < still_straight)
    moved.kind = geometry::CurveSegment::Kind::line;
  return moved;
}

geometry::Curve ShapeField::moved_edge(std::size_t index, const Eigen::VectorXd& q) const {
  const Edge& edge = edges_[index];
  if (edge.straight) {  // uneven sliding along it bends it in second order, which is left out
    geometry::Curve line = {moved_part(index, edge.sew[0], 0, edge.length, q)};
    line[0].kind = geometry::CurveSegment::Kind::line;
    return line;
  }
  geometry::Curve out;
  for (std::size_t k = 0; k < edge.sew.size(); ++k) {
    geometry::CurveSegment rest = edge.sew[k];
    const double start = k == 0 ? 0 : edge.ends[k - 1], whole = edge.ends[k] - start;
    const double turn = rest.kind == geometry::CurveSegment::Kind::arc ? std::abs(rest.turned()) : 0;
    const double span = edge.length / static_cast<double>(edge.spans);
    const auto parts = static_cast<int>(std::max({1.0, std::ceil(whole / span - 0.25), std::ceil(turn / widest_arc)}));
    const bool line = rest.kind == geometry::CurveSegment::Kind::line;
    if (line && moved_part(index, rest, start, edge.ends[k], q).kind == geometry::CurveSegment::Kind::line &&
        std::abs(geometry::cross(moved_tangent({index, start + 0.5 * whole}, rest.direction(0), q).normalized(),
                                 moved_tangent({index, start}, rest.direction(0), q).normalized())) <
            still_straight / whole) {
      out.push_back(moved_part(index, rest, start, edge.ends[k], q));
      continue;
    }
    const geometry::Curve pieces = parts_of(rest, parts);
    double from = start;
    for (int part = 0; part < parts; ++part) {
      const double to = part + 1 == parts ? edge.ends[k] : from + pieces[static_cast<std::size_t>(part)].length();
      out.push_back(moved_part(index, pieces[static_cast<std::size_t>(part)], from, to, q));
      from = to;
    }
  }
  return out;
}

std::vector<ShapeField::Sample> ShapeField::samples(double step) const {
  std::vector<Sample> out;
  for (std::size_t e = 0; e < edges_.size(); ++e)
    for (std::size_t k = 0; k < edges_[e].sew.size(); ++k) {
      const geometry::CurveSegment& s = edges_[e].sew[k];
      const double start = k == 0 ? 0 : edges_[e].ends[k - 1], whole = edges_[e].ends[k] - start;
      const auto parts = std::max(1, static_cast<int>(std::ceil(whole / step)));
      for (int i = 0; i < parts; ++i) {
        const double t = static_cast<double>(i) / parts;
        const double along =
            s.kind == geometry::CurveSegment::Kind::cubic && i > 0 ? geometry::first_part(s, t).length() : t * whole;
        out.push_back({{e, start + along}, s.at(t)});
      }
    }
  return out;
}

}  // namespace chalkfold::draft
