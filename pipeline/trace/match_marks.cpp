// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/match_marks.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "pipeline/trace/corner_finder.h"

namespace chalkfold {
namespace {

constexpr double run_tolerance = 1.5;                 // mm: a stroke may run on into a neighbour
constexpr double overlap = 3;                         // mm that the stroke may seem to run out of the outline
constexpr double normal_arm = 6;                      // mm either side of the foot
constexpr double grain_of_chalk = 4;                  // mm along a stroke, over which its wander is one and the same
constexpr double corner_arm = 12, corner_turn = 0.5;  // mm, rad
constexpr double together_turn = 0.45;                // rad between marks drawn together

double sigma_at_foot(const FittedLine& line, double width, double ahead) {
  // Wander about the line as seen, or what a broken edge of chalk leaves undecided, over the independent stretches; growing with the lever.
  const double spread = std::max(line.rms, 0.15 * width);
  const double n = std::max(2.0, line.length() / grain_of_chalk),
               lever = (line.length() / 2 + ahead) / (line.length() / std::sqrt(12.0));
  return spread * std::sqrt((1 + lever * lever) / n);
}

std::optional<MatchMark> as_match_mark(const Stroke& stroke, const OutlineRuler& outline,
                                       const MatchMarkOptions& options) {
  const Polyline run = longest_straight_run(stroke.points, run_tolerance);
  FittedLine line = fit_line(run);
  if (line.rms > options.most_bow || line.length() < 0.6 * stroke.length) return std::nullopt;
  std::optional<MatchMark> best;
  double least = 1e300;
  for (const bool first : {true, false}) {
    const Vec2 out = first ? Vec2(-line.direction) : line.direction;
    const Vec2 end = line.at(first ? line.from : line.to), tip = line.at(first ? line.to : line.from);
    const auto foot = outline.crossing(end - overlap * out, out, options.most_gap + overlap);
    if (!foot) continue;
    const double slant = std::acos(std::clamp(out.dot(outline.outward(*foot, normal_arm)), -1.0, 1.0));
    const double reach = (foot->at - tip).norm(), gap = (foot->at - end).dot(out);
    if (slant > options.most_slant || reach < options.least_length || reach > options.most_length) continue;
    // Both ends may meet the outline where a panel is narrow or ends in a point: the nearer and straighter one is the foot.
    const double cost = std::abs(gap) + options.most_gap * slant;
    if (cost >= least) continue;
    least = cost;
    MatchMark mark;
    mark.along = foot->along;
    mark.foot = foot->at;
    mark.tip = tip;
    mark.width = stroke.width;
    mark.sigma = sigma_at_foot(line, stroke.width, std::max(0.0, gap)) / std::max(0.5, std::cos(slant));
    mark.colour = stroke.colour;
    mark.confidence = confidence_of(stroke);
    best = mark;
  }
  return best;
}

void number_groups(std::vector<MatchMark>& marks, const OutlineRuler& outline, double together) {
  const auto belongs = [&](const MatchMark& a, const MatchMark& b) {
    const Vec2 u = (a.tip - a.foot).normalized(), v = (b.tip - b.foot).normalized();
    return outline.apart(a.along, b.along) < together && u.dot(v) > std::cos(together_turn);
  };
  int group = 0;
  for (std::size_t i = 0; i < marks.size(); ++i) {
    if (i > 0 && !belongs(marks[i - 1], marks[i])) ++group;
    marks[i].group = group;
  }
  // A group may lie across the outline's first point.
  if (marks.size() > 1 && group > 0 && belongs(marks.back(), marks.front())) {
    for (MatchMark& m : marks) {
      if (m.group == group) m.group = 0;
    }
  }
}

void note_corners(std::vector<MatchMark>& marks, const OutlineRuler& outline) {
  const double spacing = outline.length() / static_cast<double>(outline.points().size());
  for (const BoundaryCorner& corner : find_corners(outline.points(), spacing, corner_arm, corner_turn)) {
    const double along = outline.nearest(corner.point).along;
    for (MatchMark& m : marks) m.at_corner = m.at_corner || outline.apart(m.along, along) < (m.tip - m.foot).norm();
  }
}

}  // namespace

std::vector<MatchMark> find_match_marks(const std::vector<Stroke>& strokes, const OutlineRuler& outline,
                                        std::vector<bool>& used, const MatchMarkOptions& options) {
  std::vector<MatchMark> marks;
  for (std::size_t i = 0; i < strokes.size(); ++i) {
    if (used[i]) continue;
    if (auto mark = as_match_mark(strokes[i], outline, options)) {
      used[i] = true;
      marks.push_back(*mark);
    }
  }
  std::sort(marks.begin(), marks.end(), [](const MatchMark& a, const MatchMark& b) { return a.along < b.along; });
  number_groups(marks, outline, options.together);
  note_corners(marks, outline);
  return marks;
}

}  // namespace chalkfold
