// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cmath>
#include <utility>

#include "pipeline/geometry/polygon.h"
#include "pipeline/output/reference/read_outline.h"

namespace chalkfold::output {

namespace {
constexpr double exact = 1e-9;  // mm: nothing meets closer

/// mm between the end of `line` and the nearer end of `tail`.
double gap(const FileLine& line, const FileLine& tail) {
  const Vec2& end = line.points.back();
  return std::min((end - tail.points.front()).norm(), (end - tail.points.back()).norm());
}

/// Puts `tail` on the end of `line`, its nearer end first.
void join(FileLine& line, FileLine tail) {
  const Vec2& end = line.points.back();
  if ((end - tail.points.back()).norm() < (end - tail.points.front()).norm())
    std::reverse(tail.points.begin(), tail.points.end());
  line.points.insert(line.points.end(), tail.points.begin() + 1, tail.points.end());
}

/// mm between the line's own ends; more than `reach` for what is too short to be an outline.
double own_gap(const FileLine& line, double reach) {
  const double apart = (line.points.back() - line.points.front()).norm();
  const bool fragment = apart <= reach && (line.points.size() < 3 || geometry::length(line.points, false) <= 4 * reach);
  return fragment ? 2 * reach : apart;
}

/// Whatever meets closest is joined first: an outline exploded into lines shorter than `reach` has many ends within it.
std::vector<FileLine> joined(std::vector<FileLine> open, double reach) {
  std::vector<FileLine> out;
  while (!open.empty()) {
    FileLine line = std::move(open.front());
    open.erase(open.begin());
    while (!line.closed) {
      double least = own_gap(line, reach);
      auto next = open.end();
      for (auto tail = open.begin(); tail != open.end() && least > exact; ++tail) {
        if (tail->boundary != line.boundary || gap(line, *tail) >= least) continue;
        least = gap(line, *tail);
        next = tail;
      }
      if (least > reach) break;
      if (next == open.end()) {
        line.points.pop_back();
        line.closed = true;
      } else {
        join(line, std::move(*next));
        open.erase(next);
      }
    }
    out.push_back(std::move(line));
  }
  return out;
}
}  // namespace

Polyline largest_closed(std::vector<FileLine> lines, double reach) {
  std::vector<FileLine> closed, open;
  for (FileLine& line : lines) {
    if (line.points.size() < 2) continue;
    if (line.closed && (line.points.back() - line.points.front()).norm() < 1e-9) line.points.pop_back();
    (line.closed ? closed : open).push_back(std::move(line));
  }
  for (FileLine& line : joined(std::move(open), reach)) closed.push_back(std::move(line));
  std::erase_if(closed, [](const FileLine& line) { return !line.closed || line.points.size() < 3; });
  const bool boundary = std::any_of(closed.begin(), closed.end(), [](const FileLine& l) { return l.boundary; });
  Polyline best;
  double area = 0;
  for (const FileLine& line : closed) {
    const double own = std::abs(geometry::signed_area(line.points));
    if ((boundary && !line.boundary) || own <= area) continue;
    area = own;
    best = line.points;
  }
  return best;
}

}  // namespace chalkfold::output
