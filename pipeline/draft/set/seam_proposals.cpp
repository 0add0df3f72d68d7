// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/set/seam_proposals.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "pipeline/common/check_option.h"
#include "pipeline/draft/set/seam_run.h"
#include "pipeline/geometry/vectors.h"

namespace chalkfold::draft {
namespace {

constexpr double no_marks = 0.5, one_mark = 0.8, more_marks = 0.95;  // worth of marks that agree, by their number
constexpr double other_number = 0.3;                                 // as many marks more on one side
constexpr double twin_edges = 0.3;  // left and right are more often sewn to something between them
constexpr double same_piece = 0.5, row_of_edges = 0.7, turned_alike = 0.8, least_turn_worth = 0.3;
constexpr double farthest = 4;  // sigmas of the lengths' difference

/// A run of unpaired edges.
struct Candidate {
  SeamSide side;
  EdgeRun run;
  /// rad, from its start to its end, positive counter-clockwise
  double turned = 0;
};

struct Scored {
  std::size_t a = 0, b = 0;
  double worth = 0;
  double confidence = 0;
};

using EdgeKey = std::pair<std::size_t, std::size_t>;  // piece, index of edge

double turned(const geometry::Curve& curve) {
  double sum = 0;
  for (const geometry::CurveSegment& s : curve) {
    if (s.kind == geometry::CurveSegment::Kind::arc) sum += s.turned();
    if (s.kind != geometry::CurveSegment::Kind::cubic) continue;
    const Vec2 start = s.direction(0), middle = s.direction(0.5), end = s.direction(1);
    sum += std::atan2(geometry::cross(start, middle), start.dot(middle)) +
           std::atan2(geometry::cross(middle, end), middle.dot(end));
  }
  return sum;
}

std::vector<Candidate> candidates(const std::set<EdgeKey>& free, const std::vector<Piece>& pieces,
                                  const ProposalOptions& options) {
  std::vector<Candidate> out;
  for (const EdgeKey& key : free) {
    const Piece& piece = pieces[key.first];
    Candidate c;
    c.side.piece = piece.name;
    c.side.first_edge = piece.edges[key.second].number;
    for (std::size_t n = 0; n < std::min(options.longest_run, piece.edges.size()); ++n) {
      const std::size_t e = (key.second + n) % piece.edges.size();
      if (!free.contains({key.first, e})) break;
      c.side.last_edge = piece.edges[e].number;
      c.run = edge_run(c.side, pieces).value();
      c.turned += turned(piece.edges[e].sew);
      if (c.run.length() >= options.least_length) out.push_back(c);
    }
  }
  return out;
}

bool overlap(const Candidate& a, const Candidate& b) {
  return a.run.piece == b.run.piece && std::any_of(a.run.edges.begin(), a.run.edges.end(), [&](std::size_t e) {
           return std::find(b.run.edges.begin(), b.run.edges.end(), e) != b.run.edges.end();
         });
}

double worth_of_marks(const Candidate& a, const Candidate& b, bool with, const ProposalOptions& options) {
  const std::size_t n = a.run.marks.size(), m = b.run.marks.size();
  if (n == 0 && m == 0) return no_marks;
  const MatchedMarks matched = match_marks(a.run, b.run, with);
  const std::size_t paired = matched.pairs.size();
  if (paired < std::max(n, m))
    return other_number * static_cast<double>(paired + 1) / static_cast<double>(std::max(n, m) + 1);
  double squares = 0;
  for (const auto& [i, j] : matched.pairs) {
    const double at = a.run.marks[i].along,
                 other = along_seam(b.run, b.run.marks[j], with) * a.run.length() / b.run.length();
    squares += std::pow((at - other) / std::hypot(options.hand, options.wear * std::min(at, a.run.length() - at)), 2);
  }
  return (paired == 1 ? one_mark : more_marks) * std::exp(-0.5 * squares / static_cast<double>(paired));
}

double worth_of_turn(const Candidate& a, const Candidate& b, const ProposalOptions& options) {
  const auto fits = [&](double off) { return std::exp(-0.5 * std::pow(off / options.turn, 2)); };
  const double best = std::max(fits(a.turned + b.turned), turned_alike * fits(a.turned - b.turned));
  return least_turn_worth + (1 - least_turn_worth) * best;
}

/// The same edge of a left and a right piece that were drafted as mirror images: it is alike because it was made so, which tells nothing.
bool twins(const Candidate& a, const Candidate& b, const std::vector<Piece>& pieces) {
  constexpr double made_alike = 1e-3;  // mm
  const Piece &p = pieces[a.run.piece], &q = pieces[b.run.piece];
  const auto numbers = [](const Candidate& c, const Piece& piece) {
    std::set<int> out;  // mirrored, the edges stand the other way round
    for (const std::size_t e : c.run.edges) out.insert(piece.edges[e].number);
    return out;
  };
  return a.run.piece != b.run.piece && p.pairing.done && q.pairing.done && numbers(a, p) == numbers(b, q) &&
         std::abs(a.run.length() - b.run.length()) < made_alike;
}

double worth(const Candidate& a, const Candidate& b, const std::vector<Piece>& pieces, const ProposalOptions& options) {
  const double longer = std::max(a.run.length(), b.run.length());
  const double u =
      0.5 * std::hypot(pieces[a.run.piece].edges[a.run.edges[0]].U, pieces[b.run.piece].edges[b.run.edges[0]].U);
  const double z = (a.run.length() - b.run.length()) / std::hypot(u, options.wear * longer);
  if (std::abs(z) > farthest) return 0;
  SeamAsked seam;
  const bool with = run_by_sides(seam, a.run, b.run, pieces) == SeamRun::with;
  double w = 1 / (1 + 0.25 * z * z);  // wear has long tails
  w *= worth_of_marks(a, b, with, options) * worth_of_turn(a, b, options);
  if (a.run.piece == b.run.piece) w *= same_piece;
  if (twins(a, b, pieces)) w *= twin_edges;
  if (a.run.edges.size() > 1 || b.run.edges.size() > 1) w *= row_of_edges;
  return w;
}

std::vector<EdgeKey> edges_of(const Candidate& c) {
  std::vector<EdgeKey> keys;
  for (std::size_t e : c.run.edges) keys.emplace_back(c.run.piece, e);
  return keys;
}

/// Its share of the worth of all candidates that want one of its edges.
void give_confidence(std::vector<Scored>& scored, const std::vector<Candidate>& candidates) {
  std::map<EdgeKey, double> wanted;  // worth of all that want an edge
  for (const Scored& s : scored)
    for (std::size_t side : {s.a, s.b})
      for (const EdgeKey& key : edges_of(candidates[side])) wanted[key] += s.worth;
  for (Scored& s : scored) {
    double rivals = s.worth;
    for (std::size_t side : {s.a, s.b}) {
      double most = 0;
      for (const EdgeKey& key : edges_of(candidates[side])) most = std::max(most, wanted[key] - s.worth);
      rivals += most;
    }
    s.confidence = s.worth * s.worth / rivals;
  }
}

}  // namespace

void check(const ProposalOptions& o) {
  check(o.seam);
  check_option("wear of proposed seams, as a share,", o.wear, 0.0001, 0.1);
  check_option("sigma of marks drawn by hand, mm,", o.hand, 0.01, 100);
  check_option("turn of proposed seams, rad,", o.turn, 0.001, 10);
  check_option("least length of proposed seams, mm,", o.least_length, 0, 10000);
  check_option("least confidence of proposed seams", o.least_confidence, 0, 1);
  check_option("most candidates for an edge", static_cast<double>(o.most), 1, 1000);
  check_option("edges in a row of a proposed seam", static_cast<double>(o.longest_run), 1, 1000);
}

std::vector<SeamReport> propose_seams(const std::vector<SeamAsked>& asked, const std::vector<Piece>& pieces,
                                      const ProposalOptions& options) {
  check(options);
  std::set<EdgeKey> free;
  for (const UnpairedEdge& edge : unpaired_edges(asked, pieces)) {
    SeamSide side;
    side.piece = edge.piece;
    side.first_edge = side.last_edge = edge.edge;
    const auto run = edge_run(side, pieces);
    if (run) free.emplace(run->piece, run->edges[0]);
  }
  const std::vector<Candidate> all = candidates(free, pieces, options);
  std::vector<Scored> scored;
  for (std::size_t i = 0; i < all.size(); ++i)
    for (std::size_t j = i + 1; j < all.size(); ++j) {
      if ((all[i].run.edges.size() > 1 && all[j].run.edges.size() > 1) || overlap(all[i], all[j])) continue;
      const double w = worth(all[i], all[j], pieces, options);
      if (w >= 0.25 * options.least_confidence) scored.push_back({i, j, w, 0});
    }
  give_confidence(scored, all);
  std::stable_sort(scored.begin(), scored.end(),
                   [](const Scored& a, const Scored& b) { return a.confidence > b.confidence; });
  int number = 0;
  for (const SeamAsked& seam : asked) number = std::max(number, seam.number);
  std::map<EdgeKey, std::size_t> kept;
  std::vector<SeamReport> proposals;
  for (const Scored& s : scored) {
    if (s.confidence < options.least_confidence) break;
    std::vector<EdgeKey> keys = edges_of(all[s.a]);
    for (const EdgeKey& key : edges_of(all[s.b])) keys.push_back(key);
    if (std::any_of(keys.begin(), keys.end(), [&](const EdgeKey& key) { return kept[key] >= options.most; })) continue;
    for (const EdgeKey& key : keys) ++kept[key];
    SeamAsked seam;
    seam.number = ++number;
    seam.a = all[s.a].side;
    seam.b = all[s.b].side;
    proposals.push_back(compare_sides(seam, pieces, options.seam));
    proposals.back().proposed = true;
    proposals.back().confidence = s.confidence;
  }
  return proposals;
}

}  // namespace chalkfold::draft
