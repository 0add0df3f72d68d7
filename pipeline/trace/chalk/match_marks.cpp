// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/chalk/match_marks.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "pipeline/geometry/line_fit.h"
#include "pipeline/trace/chalk/corner_places.h"
#include "pipeline/trace/chalk/stroke_profile.h"

namespace chalkfold::trace {
namespace {

// fitted: no source but the match marks found and invented, as chalkfold_marks_accuracy --renders 200 --seed 1000 tells.
constexpr double least_length = 6;        // mm, from the outline to the inner end: as long as the shortest stroke
constexpr double most_slant = 0.8;        // rad, between the stroke and the outline's normal; fitted
constexpr double most_gap_inked = 10;     // mm to the outline where the stroke's ink shows in between; fitted
constexpr double least_ink_in_gap = 0.2;  // of the stroke's own, on the gap's average; fitted
constexpr double most_slant_inked = 0.4;  // rad, of such a stroke, or of one that runs on into writing; fitted
constexpr double together = 14;           // mm along the outline between marks drawn together, 6 to 10 and some slant
constexpr double run_tolerance = 1.5;     // mm: a stroke may run on into a neighbour
constexpr double least_run = 0.6;         // of the stroke: else it is bent; fitted
constexpr double grain_of_chalk = 4;      // mm along a stroke, over which its wander is one and the same; fitted
constexpr double broken_edge = 0.15;      // of its width: what grains of chalk leave of its middle; fitted
constexpr double together_turn = 0.45;    // rad between marks drawn together; fitted

double sigma_at_foot(const geometry::FittedLine& line, double width, double ahead) {
  // Wander about the line as seen, or what a broken edge of chalk leaves undecided, over the independent stretches; growing with the lever.
  const double spread = std::max(line.rms, broken_edge * width);
  const double n = std::max(2.0, line.length() / grain_of_chalk),
               lever =
                   (line.length() / 2 + ahead) / (line.length() / std::sqrt(12.0));  // over the spread of its places
  return spread * std::sqrt((1 + lever * lever) / n);
}

/// Departure in a stroke's own direction along a line from `from` on, over what shows on both sides of it, on the average.
double departure_along(const PanelPicture& picture, const Stroke& stroke, const Vec2& from, const Vec2& way,
                       double length) {
  constexpr double step = panel_mm_per_px, beside = 1.2;  // mm; past the stroke's blur
  constexpr double inner = 0.25;                          // of its width: well within it
  const Vec2 normal(-way.y(), way.x());
  const Vec2 within = inner * stroke.width * normal, aside = (stroke.width / 2 + beside) * normal;
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
bool runs_on(const PanelPicture& picture, const Stroke& stroke, const Vec2& end, const Vec2& tip, const Vec2& foot) {
  constexpr double rim = 1.5;                  // mm, the last before the outline is its fray and shadow; fitted
  constexpr double least = 1.0, enough = 2.5;  // of the material's standard deviations: above its noise; beyond doubt
  constexpr double strong = 2;                 // of the significance asked for: no rib stands out as much; fitted
  if (stroke.significance < significance_alone) return false;
  const double asked = std::clamp(least_ink_in_gap * stroke.contrast, least, enough);
  const double gap = (foot - end).norm() - rim;
  const Vec2 out = (foot - end).normalized();
  if (departure_along(picture, stroke, end, out, gap) <= asked) return false;
  return stroke.significance > strong * significance_alone || departure_along(picture, stroke, tip, -out, gap) <= asked;
}

/// The mark that a straight stroke is, with its foot at the line's first end or, when `either_end`, at the nearer one.
std::optional<panel::MatchMark> on_the_edge(const PanelPicture& picture, const Stroke& stroke,
                                            const geometry::FittedLine& line, bool either_end, double slant_asked,
                                            const geometry::ClosedOutline& outline) {
  std::optional<panel::MatchMark> best;
  double least = 1e300;
  for (const bool first : {true, false}) {
    if (!first && !either_end) continue;
    const Vec2 out = first ? Vec2(-line.direction) : line.direction;
    const Vec2 end = line.at(first ? line.from : line.to), tip = line.at(first ? line.to : line.from);
    const auto foot = outline.crossing(end - match_mark_overlap * out, out, most_gap_inked + match_mark_overlap);
    if (!foot) continue;
    const double slant =
        std::acos(std::clamp(out.dot(outline.outward_over(foot->along, match_mark_normal_arm)), -1.0, 1.0));
    const double reach = (foot->point - tip).norm(), gap = (foot->point - end).dot(out);
    if (slant > slant_asked || reach < least_length || reach > longest_match_mark) continue;
    if (gap > match_mark_gap && (slant > most_slant_inked || !runs_on(picture, stroke, end, tip, foot->point)))
      continue;
    // Both ends may meet the outline where a panel is narrow or ends in a point: the nearer and straighter one is the foot.
    const double cost = std::abs(gap) + match_mark_gap * slant;
    if (cost >= least) continue;
    least = cost;
    panel::MatchMark mark;
    mark.along = foot->along;
    mark.foot = foot->point;
    mark.tip = tip;
    mark.width = stroke.width;
    mark.sigma = sigma_at_foot(line, stroke.width, std::max(0.0, gap)) / std::cos(slant);
    mark.colour = stroke.colour;
    mark.confidence = confidence_of(stroke);
    best = mark;
  }
  return best;
}

/// A mark runs on into the number that was written beside it: up to there it is straight, as a thread in a bow is nowhere.
std::optional<panel::MatchMark> before_a_turn(const PanelPicture& picture, const Stroke& stroke,
                                              const geometry::ClosedOutline& outline) {
  constexpr double tolerance = 1.0, least_turn = 0.3;  // mm from the chord, rad into the number; fitted
  constexpr double least_stem = 9;                     // mm: less is part of a glyph; fitted
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
    if (line.length() < least_stem || line.rms > straight * line.length()) continue;
    if (line.direction.dot((next.back() - next.front()).normalized()) > std::cos(least_turn)) continue;
    if (auto mark = on_the_edge(picture, stroke, line, false, most_slant_inked, outline)) return mark;
  }
  return std::nullopt;
}

std::optional<panel::MatchMark> as_match_mark(const PanelPicture& picture, const Stroke& stroke,
                                              const geometry::ClosedOutline& outline) {
  const geometry::FittedLine line = geometry::fit_line(longest_straight_run(stroke.points, run_tolerance));
  if (line.length() >= least_run * stroke.length) return on_the_edge(picture, stroke, line, true, most_slant, outline);
  return before_a_turn(picture, stroke, outline);
}

void number_groups(std::vector<panel::MatchMark>& marks, const geometry::ClosedOutline& outline) {
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
  for (const double along : corner_places(outline)) {
    for (panel::MatchMark& m : marks)
      m.at_corner = m.at_corner || outline.apart(m.along, along) < (m.tip - m.foot).norm();
  }
}

}  // namespace

std::vector<panel::MatchMark> find_match_marks(const PanelPicture& picture, const std::vector<Stroke>& strokes,
                                               const geometry::ClosedOutline& outline, std::vector<bool>& used) {
  std::vector<panel::MatchMark> marks;
  for (std::size_t i = 0; i < strokes.size(); ++i) {
    if (used[i]) continue;
    if (auto mark = as_match_mark(picture, strokes[i], outline)) {
      used[i] = true;
      marks.push_back(*mark);
    }
  }
  std::sort(marks.begin(), marks.end(),
            [](const panel::MatchMark& a, const panel::MatchMark& b) { return a.along < b.along; });
  number_groups(marks, outline);
  note_corners(marks, outline);
  return marks;
}

}  // namespace chalkfold::trace
