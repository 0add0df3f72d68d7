// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cmath>

#include "pipeline/geometry/polygon.h"
#include "pipeline/output/read_outline.h"

namespace chalkfold {

namespace {
/// Puts `tail` on the end of `line`, whichever way round it fits. False when it does not.
bool join(DrawnLine& line, DrawnLine& tail, double reach) {
  if ((line.points.back() - tail.points.back()).norm() <= reach) std::reverse(tail.points.begin(), tail.points.end());
  if ((line.points.back() - tail.points.front()).norm() > reach) return false;
  line.points.insert(line.points.end(), tail.points.begin() + 1, tail.points.end());
  return true;
}

void close_where_ends_meet(DrawnLine& line, double reach) {
  if (line.points.size() < 3 || (line.points.back() - line.points.front()).norm() > reach) return;
  line.points.pop_back();
  line.closed = true;
}

std::vector<DrawnLine> joined(std::vector<DrawnLine> open, double reach) {
  std::vector<DrawnLine> out;
  while (!open.empty()) {
    DrawnLine line = std::move(open.front());
    open.erase(open.begin());
    for (bool grew = true; grew && !line.closed;) {
      close_where_ends_meet(line, reach);
      const auto next = line.closed ? open.end() : std::find_if(open.begin(), open.end(), [&](DrawnLine& tail) {
        return tail.boundary == line.boundary && join(line, tail, reach);
      });
      grew = next != open.end();
      if (grew) open.erase(next);
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
