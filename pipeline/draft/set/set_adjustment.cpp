// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/set/set_adjustment.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "pipeline/common/check_option.h"
#include "pipeline/common/error.h"
#include "pipeline/draft/set/moved_piece.h"
#include "pipeline/draft/set/put_back.h"
#include "pipeline/draft/set/set_problem.h"

namespace chalkfold::draft {
namespace {

// mm, of an interval after adjustment: seams that can be met are left with less than 0.01
constexpr double meets_within = 0.05;
constexpr std::size_t suspects = 5;  // seams looked at when the set cannot be had

double wear_of(const std::string& piece, const AdjustOptions& options) {
  if (options.fixed.contains(piece)) return 0;
  const auto own = options.piece_wear.find(piece);
  return own == options.piece_wear.end() ? options.wear : own->second;
}

std::string named(const SeamReport& seam) {
  return fmt::format("Seam {} ({} with {})", seam.asked.number, to_text(seam.asked.a), to_text(seam.asked.b));
}

Fault refusal(const char* code, const SeamReport& seam, std::string seen, std::string remedy) {
  return {code, Severity::refusal, std::move(seen), std::move(remedy), {}, seam.asked.b.piece};
}

/// An edge that no seam takes and that has the length which a side asks for; empty when there is none.
std::string fitting_edge(const SeamSide& side, double wanted, double tolerance, const SetReport& report) {
  const UnpairedEdge* best = nullptr;
  for (const UnpairedEdge& edge : report.unpaired) {
    if (std::abs(edge.length - wanted) > tolerance) continue;
    if (!best || std::abs(edge.length - wanted) < std::abs(best->length - wanted)) best = &edge;
  }
  return best ? fmt::format(" {}/{} ({:.1f} mm) would fit {}.", best->piece, best->edge, best->length, to_text(side))
              : "";
}

/// What to do about a seam that does not go.
std::string what_to_check(const SeamReport& seam, const SetReport& report) {
  const double reach = std::max(seam.tolerance, 0.01 * seam.a.length);
  std::string remedy = fmt::format("Check that {} is sewn to {}, and its ease of {:g} mm.", to_text(seam.asked.a),
                                   to_text(seam.asked.b), seam.asked.ease);
  remedy += fitting_edge(seam.asked.a, seam.a.length - seam.asked.ease, reach, report);
  return remedy + fitting_edge(seam.asked.b, seam.b.length + seam.asked.ease, reach, report);
}

double worst(const std::vector<double>& values) {
  return values.empty() ? 0 : *std::max_element(values.begin(), values.end());
}

/// A set being adjusted.
class Adjuster {
 public:
  Adjuster(const std::vector<Piece>& pieces, const AdjustOptions& options, const SetReport& report)
      : pieces_(pieces), options_(options), report_(report), bodies_(bodies_of(pieces, options.spacing)) {
    for (Body& body : bodies_) {
      const double wear = wear_of(pieces[body.piece].name, options),
                   other = body.mirrored_piece ? wear_of(pieces[*body.mirrored_piece].name, options) : wear;
      body.fixed = wear == 0 || other == 0;
      body.wear = body.fixed ? options.wear : std::max(wear, other);  // of a fixed body of no consequence, but a sigma
    }
    for (const SeamReport& seam : report.seams)
      seams_.push_back({seam.asked.number, intervals_of(seam, pieces, bodies_)});
  }

  /// Differences that wear does not explain.
  Faults unlikely_seams() const {
    Faults faults;
    for (const SeamReport& seam : report_.seams) {
      const double wear = std::hypot(wear_here(seam.asked.a) * seam.a.length, wear_here(seam.asked.b) * seam.b.length);
      const double off = std::abs(seam.difference - seam.asked.ease);
      const double explained = std::max(seam.tolerance, options_.most_wear * wear + seam.U_difference);
      if (off <= explained) continue;
      faults.push_back(refusal("seam-unlikely", seam,
                               fmt::format("{}: {:.1f} mm and {:.1f} mm differ by {:.1f} mm more than the ease; wear "
                                           "and measurement explain {:.1f} mm.",
                                           named(seam), seam.a.length, seam.b.length, off, explained),
                               what_to_check(seam, report_)));
    }
    return faults;
  }

  std::optional<Fault> solve() {
    solution_ = solve_set(pieces_, bodies_, seams_, options_);
    if (!solution_.usable)
      return refusal("adjustment-failed", report_.seams.front(),
                     fmt::format("The adjustment came to no end ({}).", solution_.message),
                     "Adjust fewer seams at a time, and see which one it is.");
    if (worst(solution_.left) > meets_within) return contradiction();
    std::size_t piece = 0;
    const double farthest = farthest_move(solution_, piece);
    if (farthest > options_.move_limit) return too_far(farthest, piece);
    return std::nullopt;
  }

  std::vector<Piece> moved_pieces(std::vector<PieceMoves>& moves) const {
    std::vector<Piece> out = pieces_;
    std::vector<std::optional<PieceMoves>> told(pieces_.size());
    for (std::size_t b = 0; b < bodies_.size(); ++b) {
      const Body& body = bodies_[b];
      const Piece& own = pieces_[body.piece];
      out[body.piece] = moved_piece(own, body, solution_.q[b], options_.mitre_limit);
      told[body.piece] = moves_of(own, out[body.piece], body, solution_.q[b]);
      if (!body.mirrored_piece) continue;
      const std::size_t other = *body.mirrored_piece;
      if (out[body.piece].adjusted) out[other] = moved_image(out[body.piece], pieces_[other], options_.mitre_limit);
      told[other] = mirrored(*told[body.piece], pieces_[other], out[other]);
    }
    for (auto& m : told)
      if (m) moves.push_back(*std::move(m));
    return out;
  }

 private:
  double wear_here(const SeamSide& side) const {
    const Body& body = bodies_[body_of(index_of(side.piece, pieces_).value(), bodies_).value().body];
    return body.fixed ? 0 : body.wear;
  }

  static PieceMoves mirrored(PieceMoves moves, const Piece& piece, const Piece& after) {
    moves.piece = piece.name;
    for (Polyline* points : {&moves.before, &moves.moves}) {
      std::reverse(points->begin(), points->end());
      for (Vec2& p : *points) p.x() = -p.x();
    }
    moves.edge_before.clear();
    moves.edge_after.clear();
    for (const PieceEdge& edge : piece.edges) moves.edge_before.push_back(geometry::length(edge.sew));
    for (const PieceEdge& edge : after.edges) moves.edge_after.push_back(geometry::length(edge.sew));
    return moves;
  }

  double farthest_move(const SetSolution& solution, std::size_t& piece) const {
    double farthest = 0;
    for (std::size_t b = 0; b < bodies_.size(); ++b) {
      const Piece& own = pieces_[bodies_[b].piece];
      const double largest = moves_of(own, own, bodies_[b], solution.q[b]).largest;
      if (largest <= farthest) continue;
      farthest = largest;
      piece = bodies_[b].piece;
    }
    return farthest;
  }

  /// How the set goes without one seam.
  struct Without {
    std::size_t seam = 0;
    double left = 1e300, farthest = 1e300, cost = 1e300;
    bool operator<(const Without& o) const {
      const bool meets = left <= meets_within, other_meets = o.left <= meets_within;
      return meets != other_meets ? meets : meets ? cost < o.cost : left < o.left;
    }
  };

  /// Of the seams that pull hardest, the one without which the others go best.
  Without culprit() const {
    std::vector<std::size_t> order(seams_.size());
    std::iota(order.begin(), order.end(), 0);
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return solution_.force[a] > solution_.force[b]; });
    Without best;
    best.seam = order.front();
    for (std::size_t i = 0; i < std::min(suspects, order.size()); ++i) {
      const SetSolution without = solve_set(pieces_, bodies_, seams_, options_, static_cast<int>(order[i]));
      if (!without.usable) continue;
      std::vector<double> left = without.left;
      left.erase(left.begin() + static_cast<std::ptrdiff_t>(order[i]));
      std::size_t piece = 0;
      const Without one{order[i], worst(left), farthest_move(without, piece), without.cost};
      if (one < best) best = one;
    }
    return best;
  }

  Fault contradiction() const {
    const Without without = culprit();
    const SeamReport& seam = report_.seams[without.seam];
    std::string seen = fmt::format("{} does not go together with the others: {:.1f} mm cannot be met.", named(seam),
                                   worst(solution_.left));
    if (without.left <= meets_within) seen += " Without it they meet.";
    return refusal("seams-contradict", seam, seen, what_to_check(seam, report_));
  }

  Fault too_far(double farthest, std::size_t piece) const {
    const Without without = culprit();
    const SeamReport& seam = report_.seams[without.seam];
    const std::string seen = fmt::format(
        "{}: to sew together, {} would move by {:.1f} mm, over the limit of {:g} mm; without this seam "
        "the largest move is {:.1f} mm.",
        named(seam), pieces_[piece].name, farthest, options_.move_limit, without.farthest);
    return refusal("moves-too-far", seam, seen,
                   what_to_check(seam, report_) + " If all is right, the panel is worn by so much: raise the limit.");
  }

  const std::vector<Piece>& pieces_;
  const AdjustOptions& options_;
  const SetReport& report_;
  std::vector<Body> bodies_;
  std::vector<SeamIntervals> seams_;
  SetSolution solution_;
};

}  // namespace

void check(const AdjustOptions& o) {
  check(o.seam);
  check_option("wear, as a share,", o.wear, 0.0001, 0.1);
  for (const auto& [piece, wear] : o.piece_wear) check_option("wear of a piece, as a share,", wear, 0, 0.1);
  check_option("growth", o.growth, 0.01, 1);
  check_option("local share of the wear", o.local, 0.01, 10);
  check_option("sigma of corners, rad,", o.corner_sigma, 0.0001, 1);
  check_option("spacing of control points, mm,", o.spacing, 10, 1000);
  check_option("move limit, mm,", o.move_limit, 0.1, 100);
  check_option("most wear", o.most_wear, 1, 20);
  check_option("mitre limit", o.mitre_limit, 1, 20);
}

SetReport report_set(const std::vector<Piece>& pieces, const std::vector<SeamAsked>& seams,
                     const SeamOptions& options) {
  SetReport report;
  for (const SeamAsked& seam : seams) {
    if (auto fault = find_fault(seam, pieces))
      report.faults.push_back(*fault);
    else
      report.seams.push_back(compare_sides(seam, pieces, options));
  }
  report.unpaired = unpaired_edges(seams, pieces);
  return report;
}

AdjustedSet adjust_set(const std::vector<Piece>& pieces, const std::vector<SeamAsked>& seams,
                       const AdjustOptions& options) {
  check(options);
  AdjustedSet set;
  SetReport& report = set.report;
  report = report_set(pieces, seams, options.seam);
  if (std::any_of(report.faults.begin(), report.faults.end(),
                  [](const Fault& f) { return f.code != "seam-piece-refused"; })) {
    report.reason = "a seam names what is not there";
    return set;
  }
  if (report.seams.empty()) {
    report.reason = "there is no seam";
    return set;
  }
  Adjuster adjuster(pieces, options, report);
  const Faults unlikely = adjuster.unlikely_seams();
  report.faults.insert(report.faults.end(), unlikely.begin(), unlikely.end());
  if (!unlikely.empty()) {
    report.reason = "a seam is unlikely";
    return set;
  }
  if (auto fault = adjuster.solve()) {
    report.reason = fault->code == "moves-too-far" ? "a piece would move too far" : "the seams do not go together";
    report.faults.push_back(*std::move(fault));
    return set;
  }
  set.pieces = adjuster.moved_pieces(report.moves);
  for (const SeamReport& seam : report.seams) {
    report.after.push_back(compare_sides(seam.asked, set.pieces, options.seam));
    report.after.back().run_by = seam.run_by;
  }
  report.adjusted = true;
  tell_moved(set, pieces, options.seam);
  return set;
}

}  // namespace chalkfold::draft
