// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/set/seam_run.h"

#include <algorithm>
#include <cmath>

namespace chalkfold::draft {
namespace {

/// Marks of the run, those drawn together as one.
std::vector<RunMark> marks_of(const Piece& piece, const EdgeRun& run) {
  struct Placed {
    double along;
    std::size_t edge, mark;
  };
  std::vector<Placed> placed;
  for (std::size_t k = 0; k < run.edges.size(); ++k)
    for (std::size_t m = 0; m < piece.marks.size(); ++m)
      if (piece.marks[m].edge == piece.edges[run.edges[k]].number)
        placed.push_back({run.starts[k] + piece.marks[m].along, k, m});
  std::stable_sort(placed.begin(), placed.end(), [](const Placed& a, const Placed& b) { return a.along < b.along; });
  std::vector<RunMark> marks;
  const Placed* last = nullptr;
  for (const Placed& p : placed) {
    const bool together = last && last->edge == p.edge && piece.marks[last->mark].group == piece.marks[p.mark].group;
    if (!together) marks.push_back({static_cast<int>(marks.size()) + 1, 0, {}});
    marks.back().marks.push_back(p.mark);
    marks.back().along += p.along;
    last = &p;
  }
  for (RunMark& mark : marks) mark.along /= static_cast<double>(mark.marks.size());
  return marks;
}

/// Where the part begins and ends; false when a mark is not there.
bool take_part(const SeamSide& side, const std::vector<RunMark>& all, EdgeRun& run) {
  const int count = static_cast<int>(all.size());
  for (const auto& [number, station] : {std::pair(side.from_mark, &run.from), std::pair(side.to_mark, &run.to)}) {
    if (!number) continue;
    if (*number < 1 || *number > count) return false;
    *station = all[static_cast<std::size_t>(*number) - 1].along;
  }
  return run.to > run.from;
}

}  // namespace

std::optional<std::size_t> index_of(const std::string& name, const std::vector<Piece>& pieces) {
  for (std::size_t i = 0; i < pieces.size(); ++i)
    if (pieces[i].name == name) return i;
  return std::nullopt;
}

std::optional<EdgeRun> edge_run(const SeamSide& side, const std::vector<Piece>& pieces) {
  const auto index = index_of(side.piece, pieces);
  if (!index) return std::nullopt;
  const Piece& piece = pieces[*index];
  const auto first = index_of_edge(piece, side.first_edge), last = index_of_edge(piece, side.last_edge);
  if (!first || !last) return std::nullopt;
  EdgeRun run;
  run.piece = *index;
  for (std::size_t i = *first;; i = (i + 1) % piece.edges.size()) {
    run.edges.push_back(i);
    run.starts.push_back(run.to);
    run.to += geometry::length(piece.edges[i].sew);
    if (i == *last) break;
  }
  run.closed = run.edges.size() == piece.edges.size() && !side.from_mark && !side.to_mark;
  run.all_marks = marks_of(piece, run);
  if (!take_part(side, run.all_marks, run)) return std::nullopt;
  for (RunMark mark : run.all_marks) {
    mark.along -= run.from;
    if (mark.along >= least_interval && mark.along <= run.length() - least_interval) run.marks.push_back(mark);
  }
  return run;
}

double along_seam(const EdgeRun& b, const RunMark& mark, bool with) {
  return with ? mark.along : b.length() - mark.along;
}

MatchedMarks match_marks(const EdgeRun& a, const EdgeRun& b, bool with) {
  const std::size_t n = a.marks.size(), m = b.marks.size();
  const double reach = 0.1 * a.length(), scale = a.length() / b.length();
  // Marks of b in the way of travel of a.
  const auto of_b = [&](std::size_t j) { return with ? j : m - 1 - j; };
  const auto apart = [&](std::size_t i, std::size_t j) {
    return std::abs(a.marks[i].along - scale * along_seam(b, b.marks[of_b(j)], with));
  };
  std::vector<std::vector<double>> cost(n + 1, std::vector<double>(m + 1, 0));
  for (std::size_t i = 0; i <= n; ++i)
    for (std::size_t j = 0; j <= m; ++j) {
      if (i == 0 || j == 0) {
        cost[i][j] = 0.5 * reach * static_cast<double>(i + j);
        continue;
      }
      cost[i][j] = std::min(
          {cost[i - 1][j - 1] + apart(i - 1, j - 1), cost[i - 1][j] + 0.5 * reach, cost[i][j - 1] + 0.5 * reach});
    }
  MatchedMarks matched;
  matched.cost = cost[n][m];
  for (std::size_t i = n, j = m; i > 0 && j > 0;) {
    if (cost[i][j] == cost[i - 1][j - 1] + apart(i - 1, j - 1)) {
      matched.pairs.emplace_back(--i, of_b(--j));
    } else if (cost[i][j] == cost[i - 1][j] + 0.5 * reach) {
      --i;
    } else {
      --j;
    }
  }
  std::reverse(matched.pairs.begin(), matched.pairs.end());
  return matched;
}

SeamRun run_by_sides(const SeamAsked& seam, const EdgeRun& a, const EdgeRun& b, const std::vector<Piece>& pieces) {
  const bool turned = (pieces[a.piece].side != pieces[b.piece].side) != (seam.a.mirrored != seam.b.mirrored);
  return turned ? SeamRun::with : SeamRun::against;
}

}  // namespace chalkfold::draft
