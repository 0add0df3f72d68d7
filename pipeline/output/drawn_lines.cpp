// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cmath>
#include <utility>

#include "pipeline/geometry/polygon.h"
#include "pipeline/output/read_outline.h"

namespace chalkfold {

namespace {
constexpr double exact = 1e-9;  // mm: nothing meets closer

/// mm between the end of `line` and the nearer end of `tail`.
double gap(const DrawnLine& line, const DrawnLine& tail) {
  const Vec2& end = line.points.back();
  return std::min((end - tail.points.front()).norm(), (end - tail.points.back()).norm());
}

/// Puts `tail` on the end of `line`, its nearer end first.
void join(DrawnLine& line, DrawnLine tail) {
  const Vec2& end = line.points.back();
  if ((end - tail.points.back()).norm() < (end - tail.points.front()).norm())
    std::reverse(tail.points.begin(), tail.points.end());
  line.points.insert(line.points.end(), tail.points.begin() + 1, tail.points.end());
}

/// mm between the line's own ends; more than `reach` for what is too short to be an outline.
double own_gap(const DrawnLine& line, double reach) {
  const double apart = (line.points.back() - line.points.front()).norm();
  const bool fragment = apart <= reach && (line.points.size() < 3 || length(line.points, false) <= 4 * reach);
  return fragment ? 2 * reach : apart;
}

/// Whatever meets closest is joined first: an outline exploded into lines shorter than `reach` has many ends within it.
std::vector<DrawnLine> joined(std::vector<DrawnLine> open, double reach) {
  std::vector<DrawnLine> out;
  while (!open.empty()) {
    DrawnLine line = std::move(open.front());
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

Polyline largest_closed(std::vector<DrawnLine> lines, double reach) {
  std::vector<DrawnLine> closed, open;
  for (DrawnLine& line : lines) {
    if (line.points.size() < 2) continue;
    if (line.closed && (line.points.back() - line.points.front()).norm() < 1e-9) line.points.pop_back();
    (line.closed ? closed : open).push_back(std::move(line));
  }
  for (DrawnLine& line : joined(std::move(open), reach)) closed.push_back(std::move(line));
  std::erase_if(closed, [](const DrawnLine& line) { return !line.closed || line.points.size() < 3; });
  const bool boundary = std::any_of(closed.begin(), closed.end(), [](const DrawnLine& l) { return l.boundary; });
  Polyline best;
  double area = 0;
  for (const DrawnLine& line : closed) {
    const double own = std::abs(signed_area(line.points));
    if ((boundary && !line.boundary) || own <= area) continue;
    area = own;
    best = line.points;
  }
  return best;
}

}  // namespace chalkfold
