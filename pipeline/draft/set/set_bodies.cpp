// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/set/set_bodies.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "pipeline/common/require.h"

namespace chalkfold::draft {
namespace {

constexpr double same_place = 1e-6;  // mm: a pair's pieces are mirrored copies

bool is_image(const Piece& piece, const Piece& other) {
  if (!piece.pairing.done || !other.pairing.done || piece.edges.size() != other.edges.size() ||
      piece.marks.size() != other.marks.size())
    return false;
  for (const PieceEdge& edge : piece.edges) {
    const auto same = index_of_edge(other, edge.number);
    if (!same) return false;
    const Vec2 from = edge.sew.front().from, to = other.edges[*same].sew.back().to;
    if (std::abs(from.x() + to.x()) > same_place || std::abs(from.y() - to.y()) > same_place) return false;
  }
  return true;
}

/// Marks of one edge, those drawn together as one: edge index and group -> marks.
std::map<std::pair<std::size_t, int>, std::vector<std::size_t>> mark_groups(const Piece& piece) {
  std::map<std::pair<std::size_t, int>, std::vector<std::size_t>> groups;
  for (std::size_t m = 0; m < piece.marks.size(); ++m)
    if (const auto e = index_of_edge(piece, piece.marks[m].edge)) groups[{*e, piece.marks[m].group}].push_back(m);
  return groups;
}

double middle_of(const Piece& piece, const std::vector<std::size_t>& marks) {
  double sum = 0;
  for (std::size_t m : marks) sum += piece.marks[m].along;
  return sum / static_cast<double>(marks.size());
}

void lay_slides(Body& body, const Piece& piece) {
  body.slides.resize(piece.marks.size());
  body.size = body.field.size();
  const auto groups = mark_groups(piece);
  std::map<std::pair<std::size_t, int>, bool> done;
  for (const auto& [key, marks] : groups) {
    if (done[key]) continue;
    done[key] = true;
    const double along = middle_of(piece, marks);
    const auto image_edge = body.field.image_of(key.first);
    const auto image = std::find_if(groups.begin(), groups.end(), [&](const auto& other) {
      return image_edge && other.first.first == *image_edge &&
             std::abs(body.field.edge_length(*image_edge) - along - middle_of(piece, other.second)) < symmetric_within;
    });
    if (image != groups.end() && image->first == key) continue;  // on the axis
    const Eigen::Index index = body.size++;
    for (std::size_t m : marks) body.slides[m] = Slide{index, 1};
    if (image == groups.end()) continue;
    done[image->first] = true;
    for (std::size_t m : image->second) body.slides[m] = Slide{index, -1};
  }
}

/// A run on its body: stations of the run, counter-clockwise on the piece, to places on the body.
class BodyRun {
 public:
  BodyRun(const EdgeRun& run, const std::vector<Piece>& pieces, const std::vector<Body>& bodies)
      : run_(run), pieces_(pieces), of_(body_of(run.piece, bodies).value()), body_(bodies[of_.body]) {}

  /// Between two stations of the run; marks are numbers of the run, 0 for none.
  IntervalSide side(double from, double to, int mark_from, int mark_to) const {
    IntervalSide side;
    side.body = of_.body;
    side.length = to - from;
    for (std::size_t k = 0; k < run_.edges.size(); ++k) {
      const PieceEdge& edge = pieces_[run_.piece].edges[run_.edges[k]];
      const double whole = geometry::length(edge.sew);
      const double first = std::max(0.0, from - run_.starts[k]), last = std::min(whole, to - run_.starts[k]);
      if (last - first < 1e-9) continue;
      if (of_.mirrored)
        side.arcs.push_back(
            body_.field.arc(index_of_edge(pieces_[body_.piece], edge.number).value(), whole - last, whole - first));
      else
        side.arcs.push_back(body_.field.arc(run_.edges[k], first, last));
    }
    side.at_start = slide(of_.mirrored ? mark_to : mark_from);
    side.at_end = slide(of_.mirrored ? mark_from : mark_to);
    return side;
  }

 private:
  std::optional<Slide> slide(int number) const {  // marks of a pair are in the same order on both
    if (number > 0) require_index("mark of a seam", static_cast<std::size_t>(number) - 1, run_.all_marks.size());
    return number > 0 ? body_.slides[run_.all_marks[static_cast<std::size_t>(number) - 1].marks[0]] : std::nullopt;
  }

  const EdgeRun& run_;
  const std::vector<Piece>& pieces_;
  BodyOf of_;
  const Body& body_;
};

}  // namespace

std::vector<Body> bodies_of(const std::vector<Piece>& pieces, double spacing) {
  std::vector<Body> bodies;
  std::vector<bool> done(pieces.size(), false);
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    if (done[i] || pieces[i].edges.empty() || has_refusal(pieces[i].faults)) continue;
    Body body{i, {}, ShapeField(pieces[i], spacing), {}, 0, false, 0.01};
    for (std::size_t j = i + 1; j < pieces.size() && !body.mirrored_piece; ++j)
      if (!done[j] && is_image(pieces[i], pieces[j])) body.mirrored_piece = j;
    if (body.mirrored_piece) done[*body.mirrored_piece] = true;
    lay_slides(body, pieces[i]);
    bodies.push_back(std::move(body));
  }
  return bodies;
}

std::optional<BodyOf> body_of(std::size_t piece, const std::vector<Body>& bodies) {
  for (std::size_t b = 0; b < bodies.size(); ++b) {
    if (bodies[b].piece == piece) return BodyOf{b, false};
    if (bodies[b].mirrored_piece == piece) return BodyOf{b, true};
  }
  return std::nullopt;
}

std::vector<BodyInterval> intervals_of(const SeamReport& seam, const std::vector<Piece>& pieces,
                                       const std::vector<Body>& bodies) {
  for (const SeamSide* side : {&seam.asked.a, &seam.asked.b}) {
    const auto run = edge_run(*side, pieces);
    require(run && body_of(run->piece, bodies), "a seam's side is not among the pieces, or its piece has no body");
  }
  const EdgeRun run_a = edge_run(seam.asked.a, pieces).value(), run_b = edge_run(seam.asked.b, pieces).value();
  const BodyRun a(run_a, pieces, bodies), b(run_b, pieces, bodies);
  const bool with = seam.asked.run == SeamRun::with;
  std::vector<BodyInterval> intervals;
  double at_a = 0, at_b = 0;  // mm from the seam's start
  int mark_a = seam.asked.a.from_mark.value_or(0);
  int mark_b = (with ? seam.asked.b.from_mark : seam.asked.b.to_mark).value_or(0);
  const int last_a = seam.asked.a.to_mark.value_or(0);
  const int last_b = (with ? seam.asked.b.to_mark : seam.asked.b.from_mark).value_or(0);
  for (std::size_t i = 0; i < seam.intervals.size(); ++i) {
    const SeamInterval& interval = seam.intervals[i];
    const bool last = i + 1 == seam.intervals.size();
    const int next_a = last ? last_a : interval.mark_a, next_b = last ? last_b : interval.mark_b;
    BodyInterval out;
    out.wanted = interval.wanted;
    out.a = a.side(run_a.from + at_a, run_a.from + at_a + interval.a, mark_a, next_a);
    out.b = with ? b.side(run_b.from + at_b, run_b.from + at_b + interval.b, mark_b, next_b)
                 : b.side(run_b.to - at_b - interval.b, run_b.to - at_b, next_b, mark_b);
    intervals.push_back(std::move(out));
    at_a += interval.a;
    at_b += interval.b;
    mark_a = next_a;
    mark_b = next_b;
  }
  return intervals;
}

double length_of(const IntervalSide& side, const double* q, double factor, double* gradient) {
  double length = side.length;
  for (const ArcNodes& arc : side.arcs) {
    const Eigen::Index size = arc.slope.cols();
    const Eigen::VectorXd change = arc.slope * Eigen::Map<const Eigen::VectorXd>(q, size);
    for (std::size_t k = 0; k < arc.weight.size(); ++k) {
      const auto row = static_cast<Eigen::Index>(2 * k);
      const Vec2 tangent = arc.tangent[k] + change.segment<2>(row);
      const double norm = tangent.norm();
      length += arc.weight[k] * (norm - 1);
      if (gradient)
        Eigen::Map<Eigen::RowVectorXd>(gradient, size) +=
            factor * arc.weight[k] / norm * tangent.transpose() * arc.slope.middleRows(row, 2);
    }
  }
  for (const auto& [slide, end] : {std::pair(side.at_end, 1.0), std::pair(side.at_start, -1.0)}) {
    if (!slide) continue;
    length += end * slide->sign * q[slide->index];
    if (gradient) gradient[slide->index] += factor * end * slide->sign;
  }
  return length;
}

}  // namespace chalkfold::draft
