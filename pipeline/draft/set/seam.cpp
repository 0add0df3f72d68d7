// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/set/seam.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "pipeline/common/check_option.h"
#include "pipeline/common/error.h"
#include "pipeline/common/nearest_name.h"
#include "pipeline/common/require.h"
#include "pipeline/common/utf8.h"
#include "pipeline/draft/set/seam_run.h"
#include "pipeline/geometry/vectors.h"

namespace chalkfold::draft {
namespace {

/// Marks decide the way of travel only when they agree better by more than hand drawing explains.
constexpr double clearly_better = 6;  // mm, over all marks together

/// Standard uncertainty along `edge` of the corner between it and `neighbour`, mm.
double corner_u(const PieceEdge& edge, const PieceEdge& neighbour, const Vec2& direction, const Vec2& other) {
  constexpr double least_sine = 0.25;  // flatter corners were placed by their arms, not by where two edges cross
  const double sine = std::max(least_sine, std::abs(geometry::cross(direction, other)));
  return 0.5 * std::hypot(neighbour.U, edge.U * std::abs(direction.dot(other))) / sine;
}

/// Standard uncertainty of the part's length, mm, without the scale.
double ends_u(const EdgeRun& run, const SeamSide& side, const Piece& piece, const SeamOptions& options) {
  const std::size_t n = piece.edges.size(), first = run.edges.front(), last = run.edges.back();
  if (run.closed) return 0.5 * piece.edges[first].U;
  const auto start = [&](std::size_t e) { return geometry::place_along(piece.edges[e].sew, 0).direction; };
  const auto end = [&](std::size_t e) { return geometry::place_along(piece.edges[e].sew, 1e300).direction; };
  const std::size_t before = (first + n - 1) % n, after = (last + 1) % n;
  const double u_from = side.from_mark ? options.mark_sigma
                                       : corner_u(piece.edges[first], piece.edges[before], start(first), end(before));
  const double u_to =
      side.to_mark ? options.mark_sigma : corner_u(piece.edges[last], piece.edges[after], end(last), start(after));
  return std::hypot(u_from, u_to);
}

EdgeRun must_run(const SeamSide& side, const std::vector<Piece>& pieces) {
  auto run = edge_run(side, pieces);
  if (!run) throw PreconditionError("a seam's side is not among the pieces: " + to_text(side));
  return *run;
}

std::optional<Fault> side_fault(const SeamAsked& seam, const SeamSide& side, const std::vector<Piece>& pieces) {
  const auto fault = [&](const char* code, const std::string& seen, const std::string& remedy) {
    return Fault{code, Severity::refusal, fmt::format("Seam {}: {}", seam.number, seen), remedy, {}, side.piece};
  };
  const auto index = index_of(side.piece, pieces);
  if (!index) {
    std::vector<std::string> known;
    known.reserve(pieces.size());
    for (const Piece& piece : pieces) known.push_back(piece.name);
    const std::string nearest = nearest_name(side.piece, known);
    return fault("seam-unknown-piece", fmt::format("there is no piece \"{}\".", plain_text(side.piece)),
                 nearest.empty() ? "Look up the pieces' names in the report."
                                 : fmt::format("Was \"{}\" meant?", plain_text(nearest)));
  }
  const Piece& piece = pieces[*index];
  if (piece.edges.empty() || has_refusal(piece.faults)) {
    Fault refused = fault("seam-piece-refused", fmt::format("the piece \"{}\" was refused.", piece.name),
                          "Look at the piece's own faults first; the other seams go on.");
    refused.severity = Severity::warning;  // the refusal is the piece's own
    return refused;
  }
  SeamSide whole = side;
  whole.from_mark = whole.to_mark = std::nullopt;
  const auto run = edge_run(whole, pieces);
  if (!run)
    return fault("seam-unknown-edge",
                 fmt::format("{} names an edge that is not there; \"{}\" has edges 1 to {}.", to_text(side), piece.name,
                             piece.edges.size()),
                 "Look up the edge numbers in the piece's picture.");
  if (!edge_run(side, pieces))
    return fault(
        "seam-unknown-mark",
        fmt::format("{} asks for a mark that is not there; {} has {} of them.", to_text(side), to_text(whole),
                    run->all_marks.size()),
        "Count the match marks along that edge in the piece's picture, counter-clockwise; a double mark counts "
        "as one.");
  return std::nullopt;
}

/// Intervals between the marks that were paired, from the start of a to its end.
void lay_intervals(SeamReport& report, const EdgeRun& a, const EdgeRun& b, const MatchedMarks& matched, bool with,
                   const SeamOptions& options) {
  double at_a = 0, at_b = 0;
  const auto add = [&](double to_a, double to_b, int mark_a, int mark_b, bool bounded) {
    SeamInterval i;
    i.mark_a = mark_a;
    i.mark_b = mark_b;
    i.a = to_a - at_a;
    i.b = to_b - at_b;
    i.wanted = report.asked.ease * i.a / a.length();
    i.tolerance =
        bounded ? std::max(options.mark_tolerance, 2 * std::sqrt(2.0) * options.mark_sigma) : report.tolerance;
    report.intervals.push_back(i);
    at_a = to_a;
    at_b = to_b;
  };
  for (const auto& [i, j] : matched.pairs)
    add(a.marks[i].along, along_seam(b, b.marks[j], with), a.marks[i].number, b.marks[j].number, true);
  add(a.length(), b.length(), 0, 0, !matched.pairs.empty());
  std::set<int> paired_a, paired_b;
  for (const auto& [i, j] : matched.pairs) {
    paired_a.insert(a.marks[i].number);
    paired_b.insert(b.marks[j].number);
  }
  for (const RunMark& mark : a.marks)
    if (!paired_a.contains(mark.number)) report.unpaired_marks_a.push_back(mark.number);
  for (const RunMark& mark : b.marks)
    if (!paired_b.contains(mark.number)) report.unpaired_marks_b.push_back(mark.number);
}

void decide_run(SeamReport& report, const EdgeRun& a, const EdgeRun& b, const std::vector<Piece>& pieces) {
  if (report.asked.run != SeamRun::automatic) {
    report.run_by = SeamReport::RunBy::job;
    return;
  }
  const SeamRun usual = run_by_sides(report.asked, a, b, pieces);
  report.asked.run = usual;
  report.run_by = SeamReport::RunBy::sides;
  if (a.marks.empty() || b.marks.empty()) return;
  const double with = match_marks(a, b, true).cost, against = match_marks(a, b, false).cost;
  if (std::abs(with - against) <= clearly_better) return;
  report.asked.run = with < against ? SeamRun::with : SeamRun::against;
  report.run_by = SeamReport::RunBy::marks;
}

/// The same stretch of one piece on both sides.
bool on_itself(const EdgeRun& a, const EdgeRun& b) {
  if (a.piece != b.piece) return false;
  for (std::size_t i = 0; i < a.edges.size(); ++i)
    for (std::size_t j = 0; j < b.edges.size(); ++j) {
      if (a.edges[i] != b.edges[j]) continue;
      const double shift = a.starts[i] - b.starts[j];  // stations of b on a's run
      if (std::min(a.to, b.to + shift) - std::max(a.from, b.from + shift) > least_interval) return true;
    }
  return false;
}

}  // namespace

void check(const SeamOptions& o) {
  check_option("tolerance of seams, mm,", o.tolerance, 0.1, 50);
  check_option("tolerance of seams as a share", o.tolerance_share, 0, 0.1);
  check_option("tolerance between marks, mm,", o.mark_tolerance, 0.1, 50);
  check_option("sigma of marks, mm,", o.mark_sigma, 0.01, 10);
  check_option("sigma of the scale", o.scale_sigma, 0, 0.1);
}

std::string to_string(SeamVerdict verdict) {
  switch (verdict) {
    case SeamVerdict::meets:
      return "meets";
    case SeamVerdict::eased:
      return "eased";
    case SeamVerdict::does_not_meet:
      break;
  }
  return "does not meet";
}

bool SeamReport::marks_meet() const {
  if (!unpaired_marks_a.empty() && !unpaired_marks_b.empty()) return false;
  return intervals.size() < 2 ||
         std::all_of(intervals.begin(), intervals.end(), [](const SeamInterval& i) { return i.meets(); });
}

SeamLength seam_length(const SeamSide& side, const std::vector<Piece>& pieces, const SeamOptions& options) {
  const EdgeRun run = must_run(side, pieces);
  return {run.length(),
          2 * std::hypot(ends_u(run, side, pieces[run.piece], options), options.scale_sigma * run.length())};
}

std::optional<Fault> find_fault(const SeamAsked& seam, const std::vector<Piece>& pieces) {
  for (const SeamSide* side : {&seam.a, &seam.b})
    if (auto fault = side_fault(seam, *side, pieces)) return fault;
  if (seam.a.mirrored == seam.b.mirrored && on_itself(*edge_run(seam.a, pieces), *edge_run(seam.b, pieces)))
    return Fault{"seam-on-itself",
                 Severity::refusal,
                 fmt::format("Seam {}: {} and {} share a stretch of the same edge.", seam.number, to_text(seam.a),
                             to_text(seam.b)),
                 "Name two different edges, or two parts of one that do not overlap.",
                 {},
                 seam.a.piece};
  return std::nullopt;
}

SeamReport compare_sides(const SeamAsked& seam, const std::vector<Piece>& pieces, const SeamOptions& options) {
  check(options);
  const EdgeRun a = must_run(seam.a, pieces), b = must_run(seam.b, pieces);
  SeamReport report;
  report.asked = seam;
  decide_run(report, a, b, pieces);
  report.a = seam_length(seam.a, pieces, options);
  report.b = seam_length(seam.b, pieces, options);
  report.difference = report.a.length - report.b.length;
  const double scale = options.one_scale ? options.scale_sigma * std::abs(report.difference)
                                         : options.scale_sigma * std::hypot(report.a.length, report.b.length);
  report.U_difference =
      2 * std::hypot(ends_u(a, seam.a, pieces[a.piece], options), ends_u(b, seam.b, pieces[b.piece], options), scale);
  report.tolerance = std::max(
      {options.tolerance, options.tolerance_share * std::max(report.a.length, report.b.length), report.U_difference});
  if (std::abs(report.difference - seam.ease) <= report.tolerance)
    report.verdict = seam.ease == 0 ? SeamVerdict::meets : SeamVerdict::eased;
  const bool with = report.asked.run == SeamRun::with;
  lay_intervals(report, a, b, match_marks(a, b, with), with, options);
  return report;
}

std::vector<UnpairedEdge> unpaired_edges(const std::vector<SeamAsked>& seams, const std::vector<Piece>& pieces) {
  std::set<std::pair<std::size_t, std::size_t>> paired;
  for (const SeamAsked& seam : seams)
    for (const SeamSide* side : {&seam.a, &seam.b})
      if (const auto run = edge_run(*side, pieces))
        for (std::size_t edge : run->edges) paired.emplace(run->piece, edge);
  std::vector<UnpairedEdge> unpaired;
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    if (has_refusal(pieces[i].faults)) continue;
    std::vector<const PieceEdge*> edges;
    for (std::size_t e = 0; e < pieces[i].edges.size(); ++e)
      if (!paired.contains({i, e})) edges.push_back(&pieces[i].edges[e]);
    std::sort(edges.begin(), edges.end(), [](const auto* a, const auto* b) { return a->number < b->number; });
    for (const PieceEdge* edge : edges) unpaired.push_back({pieces[i].name, edge->number, geometry::length(edge->sew)});
  }
  return unpaired;
}

}  // namespace chalkfold::draft
