// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/chalk/writing.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "pipeline/geometry/line_fit.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/trace/base/stroke_shape.h"

namespace chalkfold::trace {
namespace {

// fitted: no source but the writings and underside letters found and invented, as chalkfold_marks_accuracy --renders 200 --seed 1000 tells.
constexpr double together = 10;  // mm between strokes of one group of glyphs: less than a line's height
// mm, longer side of the group's box: a figure; a word across a hand and a half
constexpr double least_size = 8, most_size = 160;
constexpr double least_letter = 25, most_letter = 80;  // mm, height of the underside letter; common practice
constexpr double beside_mark = 16;    // mm between a match mark and the number written beside it; fitted
constexpr double most_number = 32;    // mm, height of such a number; fitted
constexpr double straight_rms = 0.9;  // mm: a single stroke no more bowed than that is a line; fitted
constexpr double longest_glyph = 25, chord_share = 0.75;  // mm, of the length: a bow of 2.4 rad is a thread or a fold
constexpr double join_gap = 9;                            // mm between the ends of strokes that are one; fitted
constexpr double letter_step = 1.5;   // mm between the points a letter is judged on: less than a stroke is wide
constexpr std::size_t least_arm = 3;  // of them
constexpr double arm_share = 0.28;    // of the letter's length that each arm's direction is read over; fitted
constexpr double arms_turn = 0.62;    // rad by which half a turn between the arms may be missed; fitted
constexpr double most_back = 0.5;     // rad of turning the wrong way in all; fitted
constexpr double least_width = 0.25, most_width = 1.1;  // of the letter's height; fitted
constexpr double arms_unequal = 0.45;                   // of the longer arm; fitted
constexpr double ends_apart = 0.5;    // of the width: the arms are the letter's sides, its bottom lies between
constexpr double bend_in_half = 0.8;  // share of the turn that lies in the lower half; fitted
constexpr int box_turns = 45;         // of two degrees each: a quarter turn

double gap_between(const Polyline& a, const Polyline& b) {
  double best = 1e300;
  for (std::size_t i = 0; i < a.size(); i += 2) {
    for (std::size_t k = 0; k < b.size(); k += 2) best = std::min(best, (a[i] - b[k]).squaredNorm());
  }
  return std::sqrt(best);
}

/// A loose thread or a fold: one long bow. A letter drawn in one go turns back on itself.
bool is_a_bow(const Stroke& stroke) {
  return stroke.length > longest_glyph &&
         (stroke.points.back() - stroke.points.front()).norm() > chord_share * stroke.length;
}

std::vector<std::vector<std::size_t>> groups_of(const std::vector<const Stroke*>& strokes) {
  std::vector<std::size_t> root(strokes.size());
  std::iota(root.begin(), root.end(), std::size_t{0});
  for (std::size_t i = 0; i < strokes.size(); ++i) {
    for (std::size_t k = i + 1; k < strokes.size(); ++k) {
      if (root[i] == root[k] || gap_between(strokes[i]->points, strokes[k]->points) > together) continue;
      const std::size_t from = root[k], to = root[i];
      for (std::size_t& r : root) r = r == from ? to : r;
    }
  }
  std::vector<std::vector<std::size_t>> groups;
  for (std::size_t r = 0; r < strokes.size(); ++r) {
    std::vector<std::size_t> group;
    for (std::size_t i = 0; i < strokes.size(); ++i) {
      if (root[i] == r) group.push_back(i);
    }
    if (!group.empty()) groups.push_back(std::move(group));
  }
  return groups;
}

/// Smallest rectangle around the points, by turning in steps of two degrees: corners counter-clockwise.
std::array<Vec2, 4> smallest_box(const Polyline& points, std::optional<double> up) {
  std::array<Vec2, 4> best{};
  double least = 1e300;
  for (int k = 0; k < box_turns; ++k) {
    const double angle = up ? *up - M_PI / 2 : k * M_PI / (2 * box_turns);
    const geometry::Rigid2 turn{-angle, Vec2::Zero()};
    geometry::Box box;
    for (const Vec2& p : points) box.add(turn * p);
    if (box.size().prod() >= least) continue;
    least = box.size().prod();
    const geometry::Rigid2 back = turn.inverse();
    best = {back * box.min, back * Vec2(box.max.x(), box.min.y()), back * box.max,
            back * Vec2(box.min.x(), box.max.y())};
  }
  return best;
}

/// Strokes joined end to end into one, or nothing when they do not all join.
std::optional<Polyline> joined(std::vector<Polyline> strokes) {
  Polyline line = strokes.front();
  strokes.erase(strokes.begin());
  while (!strokes.empty()) {
    double least = join_gap;
    std::size_t pick = strokes.size();
    bool at_front = false, turned = false;
    for (std::size_t i = 0; i < strokes.size(); ++i) {
      const Polyline& s = strokes[i];
      const double gaps[4] = {(line.back() - s.front()).norm(), (line.back() - s.back()).norm(),
                              (line.front() - s.back()).norm(), (line.front() - s.front()).norm()};
      for (int k = 0; k < 4; ++k) {
        if (gaps[k] >= least) continue;
        least = gaps[k];
        pick = i;
        at_front = k >= 2;
        turned = k % 2 == 1;
      }
    }
    if (pick == strokes.size()) return std::nullopt;
    Polyline s = strokes[pick];
    strokes.erase(strokes.begin() + static_cast<std::ptrdiff_t>(pick));
    if (turned) std::reverse(s.begin(), s.end());
    if (at_front) {
      s.insert(s.end(), line.begin(), line.end());
      line = std::move(s);
    } else {
      line.insert(line.end(), s.begin(), s.end());
    }
  }
  return line;
}

Polyline evenly_spaced(const Polyline& line, double step) {
  Polyline out = {line.front()};
  for (const Vec2& p : line) {
    if ((p - out.back()).norm() >= step) out.push_back(p);
  }
  return out;
}

double turn_between(const Vec2& a, const Vec2& b) { return std::atan2(a.x() * b.y() - a.y() * b.x(), a.dot(b)); }

}  // namespace

std::optional<double> underside_letter(const std::vector<Polyline>& strokes) {
  if (strokes.empty()) return std::nullopt;
  const auto whole = joined(strokes);
  if (!whole) return std::nullopt;
  const Polyline line = smoothed(evenly_spaced(*whole, letter_step), 2);
  const std::size_t n = line.size();
  const auto arm = static_cast<std::size_t>(arm_share * static_cast<double>(n));
  if (arm < least_arm) return std::nullopt;
  const Vec2 down = (line[arm] - line[0]).normalized(), up = (line[n - 1] - line[n - 1 - arm]).normalized();
  if (std::abs(std::abs(turn_between(down, up)) - M_PI) > arms_turn) return std::nullopt;
  const Vec2 upward = (up - down).normalized(), right(upward.y(), -upward.x());

  geometry::Box box;
  for (const Vec2& p : line) box.add({p.dot(right), p.dot(upward)});
  const double height = box.size().y(), width = box.size().x();
  if (height < least_letter || height > most_letter || width < least_width * height || width > most_width * height)
    return std::nullopt;
  const double first_arm = box.max.y() - line.front().dot(upward), last_arm = box.max.y() - line.back().dot(upward);
  if (std::max(first_arm, last_arm) > arms_unequal * height) return std::nullopt;
  if (std::abs((line.front() - line.back()).dot(right)) < ends_apart * width) return std::nullopt;

  double turn = 0, low_turn = 0, forth = 0, back = 0;
  for (std::size_t i = 2; i + 2 < n; ++i) {
    const double t = turn_between(line[i] - line[i - 2], line[i + 2] - line[i]) / 2;
    turn += t;
    if (line[i].dot(upward) < box.centre().y()) low_turn += t;
    (t > 0 ? forth : back) += std::abs(t);
  }
  if (std::abs(std::abs(turn) - M_PI) > arms_turn || std::min(forth, back) > most_back ||
      low_turn / turn < bend_in_half)
    return std::nullopt;
  return std::atan2(upward.y(), upward.x());
}

std::vector<panel::Writing> find_writing(const std::vector<Stroke>& all, const std::vector<bool>& used,
                                         std::vector<panel::MatchMark>& matches) {
  std::vector<const Stroke*> strokes;
  for (std::size_t i = 0; i < all.size(); ++i) {
    if (!used[i]) strokes.push_back(&all[i]);
  }
  std::vector<panel::Writing> writings;
  for (const std::vector<std::size_t>& group : groups_of(strokes)) {
    std::vector<Polyline> lines;
    Polyline points;
    double confidence = 0;
    for (const std::size_t i : group) {
      lines.push_back(strokes[i]->points);
      points.insert(points.end(), strokes[i]->points.begin(), strokes[i]->points.end());
      confidence = std::max(confidence, confidence_of(*strokes[i]));
    }
    if (group.size() == 1 && geometry::fit_line(points).rms < straight_rms) continue;
    const auto up = underside_letter(lines);
    if (!up && group.size() == 1 && is_a_bow(*strokes[group.front()])) continue;
    if (!up && !shares_an_ink(*strokes[group.front()], all, used)) continue;
    panel::Writing w;
    w.box = smallest_box(points, up);
    const Vec2 sides((w.box[1] - w.box[0]).norm(), (w.box[3] - w.box[0]).norm());
    if (sides.maxCoeff() < least_size || sides.maxCoeff() > most_size) continue;
    w.underside = up.has_value();
    w.up = up.value_or(0);
    w.confidence = confidence;
    w.colour = strokes[group.front()]->colour;
    if (!w.underside && sides.maxCoeff() < most_number) {
      panel::MatchMark* nearest = nullptr;
      double least = beside_mark;
      for (panel::MatchMark& m : matches) {
        const double gap =
            gap_between(points, Polyline{m.foot, 0.5 * (m.foot + m.tip), 0.5 * (m.foot + m.tip), m.tip, m.tip});
        if (gap < least) {
          least = gap;
          nearest = &m;
        }
      }
      if (nearest) {
        const geometry::Box box = geometry::bounding_box(Polyline(w.box.begin(), w.box.end()));
        nearest->number = panel::MarkCrop{box.min, box.max};
      }
    }
    writings.push_back(w);
  }
  // One panel has one underside: of several letters the surest stays one.
  auto surest = writings.end();
  for (auto w = writings.begin(); w != writings.end(); ++w) {
    if (w->underside && (surest == writings.end() || w->confidence > surest->confidence)) surest = w;
  }
  for (auto w = writings.begin(); w != writings.end(); ++w) w->underside = w == surest;
  return writings;
}

}  // namespace chalkfold::trace
