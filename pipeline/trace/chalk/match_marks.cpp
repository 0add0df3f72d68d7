// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/chalk/match_marks.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "pipeline/geometry/line_fit.h"
#include "pipeline/trace/base/sharp_corners.h"
#include "pipeline/trace/chalk/stroke_profile.h"

namespace chalkfold::trace {
namespace {

constexpr double run_tolerance = 1.5;                 // mm: a stroke may run on into a neighbour
constexpr double overlap = 3;                         // mm that the stroke may seem to run out of the outline
constexpr double normal_arm = 6;                      // mm either side of the foot
constexpr double grain_of_chalk = 4;                  // mm along a stroke, over which its wander is one and the same
constexpr double corner_arm = 12, corner_turn = 0.5;  // mm, rad
constexpr double together_turn = 0.45;                // rad between marks drawn together

double sigma_at_foot(const geometry::FittedLine& line, double width, double ahead) {
  // Wander about the line as seen, or what a broken edge of chalk leaves undecided, over the independent stretches; growing with the lever.
  const double spread = std::max(line.rms, 0.15 * width);
  const double n = std::max(2.0, line.length() / grain_of_chalk),
               lever = (line.length() / 2 + ahead) / (line.length() / std::sqrt(12.0));
  return spread * std::sqrt((1 + lever * lever) / n);
}

/// Departure in a stroke's own direction along a line from `from` on, over what shows on both sides of it, on the average.
double departure_along(const PanelPicture& picture, const Stroke& stroke, const Vec2& from, const Vec2& way,
                       double length) {
  constexpr double step = 0.6, beside = 1.2;  // mm
  const Vec2 normal(-way.y(), way.x());
  const Vec2 within = 0.25 * stroke.width * normal, aside = (stroke.width / 2 + beside) * normal;
  double sum = 0;
  int count = 0;
  for (double t = step; t < length; t += step, ++count) {
    const Vec2 p = from + t * way;
    for (const double side : {-1.0, 0.0, 1.0}) sum += ink_at(picture, stroke, p + side * within) / 3;
    for (const double side : {-1.0, 1.0}) sum -= ink_at(picture, stroke, p + side * aside) / 2;
  }
  return count > 0 ? stroke.contrast * sum / count : 0;
}

/// Whether a stroke beyond doubt goes on to the outline: chalk that is worn there, or that the edge gave way under, leaves grains of it. A rib goes on
/// beyond the other end too.
bool runs_on(const PanelPicture& picture, const Stroke& stroke, const Vec2& end, const Vec2& tip, const Vec2& foot,
             const MatchMarkOptions& options) {
  constexpr double rim = 1.5;                  // mm, the last before the outline is its fray and shadow
  constexpr double least = 1.0, enough = 2.5;  // of the material's standard deviations
  constexpr double strong = 2;                 // of the significance asked for: no rib stands out as much
  if (stroke.significance < options.least_significance_inked) return false;
  const double asked = std::clamp(options.least_ink_in_gap * stroke.contrast, least, enough);
  const double gap = (foot - end).norm() - rim;
  const Vec2 out = (foot - end).normalized();
  if (departure_along(picture, stroke, end, out, gap) <= asked) return false;
  return stroke.significance > strong * options.least_significance_inked ||
         departure_along(picture, stroke, tip, -out, gap) <= asked;
}

/// The mark that a straight stroke is, with its foot at the line's first end or, when `either_end`, at the nearer one.
std::optional<panel::MatchMark> on_the_edge(const PanelPicture& picture, const Stroke& stroke,
                                            const geometry::FittedLine& line, bool either_end, double most_slant,
                                            const geometry::ClosedOutline& outline, const MatchMarkOptions& options) {
  std::optional<panel::MatchMark> best;
  double least = 1e300;
  for (const bool first : {true, false}) {
    if (!first && !either_end) continue;
    const Vec2 out = first ? Vec2(-line.direction) : line.direction;
    const Vec2 end = line.at(first ? line.from : line.to), tip = line.at(first ? line.to : line.from);
    const auto foot = outline.crossing(end - overlap * out, out, options.most_gap_inked + overlap);
    if (!foot) continue;
    const double slant = std::acos(std::clamp(out.dot(outline.outward_over(foot->along, normal_arm)), -1.0, 1.0));
    const double reach = (foot->point - tip).norm(), gap = (foot->point - end).dot(out);
    if (slant > most_slant || reach < options.least_length || reach > options.most_length) continue;
    if (gap > options.most_gap &&
        (slant > options.most_slant_inked || !runs_on(picture, stroke, end, tip, foot->point, options)))
      continue;
    // Both ends may meet the outline where a panel is narrow or ends in a point: the nearer and straighter one is the foot.
    const double cost = std::abs(gap) + options.most_gap * slant;
    if (cost >= least) continue;
    least = cost;
    panel::MatchMark mark;
    mark.along = foot->along;
    mark.foot = foot->point;
    mark.tip = tip;
    mark.width = stroke.width;
    mark.sigma = sigma_at_foot(line, stroke.width, std::max(0.0, gap)) / std::max(0.5, std::cos(slant));
    mark.colour = stroke.colour;
    mark.confidence = confidence_of(stroke);
    best = mark;
  }
  return best;
}

/// A mark runs on into the number that was written beside it: up to there it is straight, as a thread in a bow is nowhere.
std::optional<panel::MatchMark> before_a_turn(const PanelPicture& picture, const Stroke& stroke,
                                              const geometry::ClosedOutline& outline, const MatchMarkOptions& options) {
  constexpr double tolerance = 1.0, least_turn = 0.3, least_length = 9;  // mm, rad, mm
  // rms about its line, of its length: an arc's with a radius of three times its length
  constexpr double straight = 0.012;
  std::vector<Polyline> runs = straight_runs(stroke.points, tolerance);
  if (runs.size() < 2) return std::nullopt;
  for (const bool first : {true, false}) {
    Polyline run = first ? runs.front() : runs.back(), next = first ? runs[1] : runs[runs.size() - 2];
    if (!first) {
      std::reverse(run.begin(), run.end());
      std::reverse(next.begin(), next.end());
    }
    const geometry::FittedLine line = geometry::fit_line(run);
    if (line.length() < least_length || line.rms > straight * line.length()) continue;
    if (line.direction.dot((next.back() - next.front()).normalized()) > std::cos(least_turn)) continue;
    if (auto mark = on_the_edge(picture, stroke, line, false, options.most_slant_inked, outline, options)) return mark;
  }
  return std::nullopt;
}

std::optional<panel::MatchMark> as_match_mark(const PanelPicture& picture, const Stroke& stroke,
                                              const geometry::ClosedOutline& outline, const MatchMarkOptions& options) {
  const geometry::FittedLine line = geometry::fit_line(longest_straight_run(stroke.points, run_tolerance));
  if (line.rms <= options.most_bow && line.length() >= 0.6 * stroke.length)
    return on_the_edge(picture, stroke, line, true, options.most_slant, outline, options);
  return before_a_turn(picture, stroke, outline, options);
}

void number_groups(std::vector<panel::MatchMark>& marks, const geometry::ClosedOutline& outline, double together) {
  const auto belongs = [&](const panel::MatchMark& a, const panel::MatchMark& b) {
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
    for (panel::MatchMark& m : marks) {
      if (m.group == group) m.group = 0;
    }
  }
}

void note_corners(std::vector<panel::MatchMark>& marks, const geometry::ClosedOutline& outline) {
  const double spacing = outline.length() / static_cast<double>(outline.points().size());
  for (const SharpCorner& corner : find_sharp_corners(outline.points(), spacing, corner_arm, corner_turn)) {
    const double along = outline.nearest(corner.point).along;
    for (panel::MatchMark& m : marks)
      m.at_corner = m.at_corner || outline.apart(m.along, along) < (m.tip - m.foot).norm();
  }
}

}  // namespace

std::vector<panel::MatchMark> find_match_marks(const PanelPicture& picture, const std::vector<Stroke>& strokes,
                                               const geometry::ClosedOutline& outline, std::vector<bool>& used,
                                               const MatchMarkOptions& options) {
  std::vector<panel::MatchMark> marks;
  for (std::size_t i = 0; i < strokes.size(); ++i) {
    if (used[i]) continue;
    if (auto mark = as_match_mark(picture, strokes[i], outline, options)) {
      used[i] = true;
      marks.push_back(*mark);
    }
  }
  std::sort(marks.begin(), marks.end(),
            [](const panel::MatchMark& a, const panel::MatchMark& b) { return a.along < b.along; });
  number_groups(marks, outline, options.together);
  note_corners(marks, outline);
  return marks;
}

}  // namespace chalkfold::trace
