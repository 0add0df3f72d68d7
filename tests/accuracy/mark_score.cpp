// SPDX-License-Identifier: Apache-2.0
#include "tests/accuracy/mark_score.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <tuple>

namespace chalkfold::accuracy {

namespace {

constexpr double degree = std::numbers::pi / 180;

/// Index of the finding that serves each true point, or -1.
std::vector<int> paired(const Polyline& truth, const Polyline& found, double limit) {
  std::vector<std::tuple<double, int, int>> pairs;
  for (std::size_t i = 0; i < truth.size(); ++i) {
    for (std::size_t k = 0; k < found.size(); ++k) {
      const double d = (truth[i] - found[k]).norm();
      if (d <= limit) pairs.emplace_back(d, static_cast<int>(i), static_cast<int>(k));
    }
  }
  std::sort(pairs.begin(), pairs.end());
  std::vector<int> out(truth.size(), -1);
  std::vector<char> used(found.size(), 0);
  for (const auto& [d, i, k] : pairs) {
    if (out[static_cast<std::size_t>(i)] >= 0 || used[static_cast<std::size_t>(k)] != 0) continue;
    out[static_cast<std::size_t>(i)] = k;
    used[static_cast<std::size_t>(k)] = 1;
  }
  return out;
}

Tally tally(const std::vector<int>& pairs, std::size_t found) {
  Tally out;
  out.truth = static_cast<int>(pairs.size());
  out.found = static_cast<int>(std::count_if(pairs.begin(), pairs.end(), [](int k) { return k >= 0; }));
  out.invented = static_cast<int>(found) - out.found;
  return out;
}

std::vector<demo::Mark> of_kind(const demo::LaidPanel& panel, const std::string& kind) {
  std::vector<demo::Mark> out;
  std::copy_if(panel.marks.begin(), panel.marks.end(), std::back_inserter(out),
               [&](const demo::Mark& m) { return m.kind == kind; });
  return out;
}

Polyline first_points(const std::vector<demo::Mark>& marks) {
  Polyline out;
  for (const demo::Mark& m : marks) out.push_back(m.points.front());
  return out;
}

/// 0 to pi, or to pi / 2 when the direction along the line does not count.
double angle_between(const Vec2& a, const Vec2& b, bool directed) {
  const double cosine = std::clamp(a.normalized().dot(b.normalized()), -1.0, 1.0);
  return std::acos(directed ? cosine : std::abs(cosine));
}

class Scoring {
 public:
  Scoring(const panel::Marks& marks, const demo::LaidPanel& truth, const geometry::Rigid2& put,
          const ScoreLimits& limits)
      : marks_(marks), truth_(truth), put_(put), limits_(limits) {
    score_.panels = 1;
  }

  MarkScore score() {
    score_matches();
    score_centre();
    score_grain();
    score_writings();
    score_notches();
    score_holes();
    score_rows();
    return std::move(score_);
  }

 private:
  void score_matches() {
    const std::vector<demo::Mark> truth = of_kind(truth_, "match");
    Polyline found;
    for (const panel::MatchMark& m : marks_.matches) found.push_back(put_ * m.foot);
    const std::vector<int> pairs = paired(first_points(truth), found, limits_.match);
    score_.match = tally(pairs, found.size());
    for (std::size_t i = 0; i < truth.size(); ++i) {
      if (pairs[i] < 0) continue;
      const auto k = static_cast<std::size_t>(pairs[i]);
      score_.match_errors.push_back((truth[i].points[0] - found[k]).norm());
      const auto true_size =
          std::count_if(truth.begin(), truth.end(), [&](const demo::Mark& m) { return m.group == truth[i].group; });
      const auto size = std::count_if(marks_.matches.begin(), marks_.matches.end(),
                                      [&](const panel::MatchMark& m) { return m.group == marks_.matches[k].group; });
      score_.groups_right += size == true_size ? 1 : 0;
    }
  }

  /// Against the axis, as far as it can be drawn on: at the foot of the panel's centroid.
  void score_centre() {
    const bool drawn = !of_kind(truth_, "centre").empty() && truth_.axis;
    score_.centre.truth = drawn ? 1 : 0;
    if (!marks_.centre) return;
    score_.centre.invented = 1;
    if (!drawn) return;
    const Vec2 a = (*truth_.axis)[0], along = ((*truth_.axis)[1] - a).normalized();
    const Vec2 from = put_ * marks_.centre->from, run = (put_ * marks_.centre->to - from).normalized();
    const double angle_deg = angle_between(along, run, false) / degree;
    if (angle_deg > limits_.centre_angle_deg) return;  // before the foot is sought: a line across the axis has none
    const Vec2 on_axis = a + along * along.dot(geometry::centroid(truth_.outline) - a);
    const Vec2 on_line = from + run * (on_axis - from).dot(along) / run.dot(along);
    const double offset = (on_line - on_axis).norm();
    if (offset > limits_.centre) return;
    score_.centre.found = 1;
    score_.centre.invented = 0;
    score_.centre_angle_deg.push_back(angle_deg);
    score_.centre_offset.push_back(offset);
  }

  void score_grain() {
    const std::vector<demo::Mark> truth = of_kind(truth_, "grain");
    score_.grain.truth = static_cast<int>(truth.size());
    if (!marks_.grain) return;
    score_.grain.invented = 1;
    if (truth.empty()) return;
    const Vec2 way = truth[0].points[1] - truth[0].points[0];
    const Vec2 tail = put_ * marks_.grain->tail, head = put_ * marks_.grain->head, found = head - tail;
    const double angle_deg = angle_between(way, found, false) / degree;
    const double off = geometry::distance_to({truth[0].points[0], truth[0].points[1]}, 0.5 * (tail + head), false);
    if (angle_deg > limits_.grain_angle_deg || off > limits_.grain) return;
    score_.grain.found = 1;
    score_.grain.invented = 0;
    const bool directed = truth[0].directed.value_or(true);
    score_.grain_angle_deg.push_back(angle_deg);
    if (directed != marks_.grain->directed) ++score_.grain_heads_wrong;
    if (directed && marks_.grain->directed && way.dot(found) < 0) ++score_.grain_reversed;
  }

  void score_writings() {
    std::vector<demo::Mark> letters = of_kind(truth_, "underside"), all = of_kind(truth_, "text");
    all.insert(all.end(), letters.begin(), letters.end());
    std::vector<char> seen_all(all.size(), 0), seen_letters(letters.size(), 0);
    for (const panel::Writing& w : marks_.writings) {
      const Vec2 middle = put_ * (0.25 * (w.box[0] + w.box[1] + w.box[2] + w.box[3]));
      count_hit(middle, all, seen_all, score_.writing);
      if (w.underside) count_hit(middle, letters, seen_letters, score_.underside);
    }
    score_.writing.truth = static_cast<int>(all.size());
    score_.underside.truth = static_cast<int>(letters.size());
  }

  /// A second finding on the same true box is invented, like one on none.
  void count_hit(const Vec2& middle, const std::vector<demo::Mark>& truth, std::vector<char>& seen, Tally& into) const {
    for (std::size_t i = 0; i < truth.size(); ++i) {
      const Vec2 low = truth[i].points[0] - Vec2::Constant(limits_.writing),
                 high = truth[i].points[1] + Vec2::Constant(limits_.writing);
      if (seen[i] != 0 || (middle.array() < low.array()).any() || (middle.array() > high.array()).any()) continue;
      seen[i] = 1;
      ++into.found;
      return;
    }
    ++into.invented;
  }

  void score_notches() {
    const std::vector<demo::Mark> truth = of_kind(truth_, "notch");
    Polyline found;
    for (const panel::Notch& n : marks_.notches) found.push_back(put_ * n.foot);
    const std::vector<int> pairs = paired(first_points(truth), found, limits_.notch);
    score_.notch = tally(pairs, found.size());
    constexpr std::array names = {"vee", "slit", "round"};  // in NotchShape's order
    for (std::size_t i = 0; i < truth.size(); ++i) {
      if (pairs[i] < 0) continue;
      const panel::Notch& n = marks_.notches[static_cast<std::size_t>(pairs[i])];
      score_.notch_shape_right += truth[i].style == names[static_cast<std::size_t>(n.shape)] ? 1 : 0;
      score_.notch_depth_errors.push_back(n.depth - truth[i].depth);
    }
  }

  void score_holes() {
    const Polyline truth = first_points(of_kind(truth_, "hole"));
    Polyline found;
    for (const panel::DrillHole& h : marks_.holes) found.push_back(put_ * h.centre);
    const std::vector<int> pairs = paired(truth, found, limits_.hole);
    score_.hole = tally(pairs, found.size());
    for (std::size_t i = 0; i < truth.size(); ++i) {
      if (pairs[i] >= 0) score_.hole_errors.push_back((truth[i] - found[static_cast<std::size_t>(pairs[i])]).norm());
    }
  }

  void score_rows() {
    std::vector<Polyline> found;
    for (const panel::NeedleRow& r : marks_.needle_rows) {
      found.emplace_back();
      for (const Vec2& p : r.points) found.back().push_back(put_ * p);
    }
    for (const demo::SewnRow& row : truth_.needle_rows) {
      int near = 0;
      for (const Vec2& hole : row.holes) {
        double best = 1e9;
        for (const Polyline& line : found)
          best = line.empty() ? best : std::min(best, geometry::distance_to(line, hole, false));
        if (best < limits_.row) score_.row_errors.push_back(best);
        near += best < limits_.row_near ? 1 : 0;
      }
      score_.needle_holes += static_cast<int>(row.holes.size());
      score_.needle_holes_near += near;
      score_.row.truth += 1;
      score_.row.found += 2 * near > static_cast<int>(row.holes.size()) ? 1 : 0;
    }
    for (const Polyline& line : found) {
      const auto astray = std::count_if(line.begin(), line.end(), [&](const Vec2& p) { return far_from_rows(p); });
      score_.row.invented += 2 * static_cast<std::size_t>(astray) > line.size() ? 1 : 0;
    }
  }

  bool far_from_rows(const Vec2& p) const {
    return std::all_of(truth_.needle_rows.begin(), truth_.needle_rows.end(), [&](const demo::SewnRow& row) {
      return row.holes.empty() || geometry::distance_to(row.holes, p, false) > limits_.row_invented;
    });
  }

  const panel::Marks& marks_;
  const demo::LaidPanel& truth_;
  geometry::Rigid2 put_;
  ScoreLimits limits_;
  MarkScore score_;
};

void append(std::vector<double>& to, const std::vector<double>& from) { to.insert(to.end(), from.begin(), from.end()); }

Vec2 nearest_on(const Polyline& closed, const Vec2& p) {
  Vec2 best = closed.front();
  double least = 1e300;
  for (std::size_t i = 0; i < closed.size(); ++i) {
    const Vec2 &a = closed[i], d = closed[(i + 1) % closed.size()] - a;
    const double t = d.squaredNorm() > 0 ? std::clamp((p - a).dot(d) / d.squaredNorm(), 0.0, 1.0) : 0;
    const Vec2 q = a + t * d;
    if ((q - p).squaredNorm() < least) least = (q - p).squaredNorm(), best = q;
  }
  return best;
}

}  // namespace

int MarkScore::false_marks() const {
  return match.invented + centre.invented + grain.invented + writing.invented + underside.invented + notch.invented +
         hole.invented + row.invented;
}

MarkScore& MarkScore::operator+=(const MarkScore& o) {
  panels += o.panels;
  missing += o.missing;
  match += o.match, centre += o.centre, grain += o.grain, underside += o.underside, writing += o.writing;
  notch += o.notch, hole += o.hole, row += o.row;
  append(match_errors, o.match_errors);
  groups_right += o.groups_right;
  append(centre_angle_deg, o.centre_angle_deg);
  append(centre_offset, o.centre_offset);
  append(grain_angle_deg, o.grain_angle_deg);
  grain_reversed += o.grain_reversed;
  grain_heads_wrong += o.grain_heads_wrong;
  notch_shape_right += o.notch_shape_right;
  append(notch_depth_errors, o.notch_depth_errors);
  append(hole_errors, o.hole_errors);
  needle_holes += o.needle_holes;
  needle_holes_near += o.needle_holes_near;
  append(row_errors, o.row_errors);
  return *this;
}

geometry::Rigid2 truth_from_measured(const Polyline& measured, const Polyline& truth, const geometry::Rigid2& guess) {
  constexpr std::size_t points = 400;
  constexpr int rounds = 15;
  const Polyline source = geometry::resample_closed(measured, points);
  geometry::Rigid2 out = guess;
  for (int round = 0; round < rounds; ++round) {
    Polyline target;
    for (const Vec2& p : source) target.push_back(nearest_on(truth, out * p));
    out = geometry::fit_rigid(source, target);
  }
  return out;
}

MarkScore score_marks(const chalkfold::panel::Panel& measured, const demo::LaidPanel& truth,
                      const geometry::Rigid2& truth_from_panel, const ScoreLimits& limits) {
  return Scoring(measured.marks, truth, truth_from_panel, limits).score();
}

MarkScore score_missing(const demo::LaidPanel& truth) {
  MarkScore out = Scoring(panel::Marks{}, truth, geometry::Rigid2{}, ScoreLimits{}).score();
  out.missing = 1;
  return out;
}

}  // namespace chalkfold::accuracy
