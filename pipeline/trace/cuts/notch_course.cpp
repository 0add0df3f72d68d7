// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/cuts/notch_course.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <stdexcept>
#include <utility>

#include "pipeline/geometry/closed_outline.h"
#include "pipeline/geometry/polygon.h"

namespace chalkfold::trace {
namespace {

constexpr double splice = 5;         // mm of outline beside a mouth that the fit may have rounded
constexpr double course_step = 0.5;  // mm, half the outline's: a V's tip is kept
constexpr double least_step = 0.25;  // mm: a base point nearer to the mouth than that is left to it
constexpr double beside_start = 1e-6, beside_end = 1e-9;  // mm: so that a point at the start is there, once

Polyline evenly(const Polyline& course, double step) {
  Polyline out = {course.front()};
  for (std::size_t i = 1; i < course.size(); ++i) {
    const double run = (course[i] - course[i - 1]).norm();
    const int n = std::max(1, static_cast<int>(std::ceil(run / step)));
    for (int k = 1; k <= n; ++k)
      out.push_back(course[i - 1] + (course[i] - course[i - 1]) * (static_cast<double>(k) / n));
  }
  return out;
}

/// A notch and what of the outline gives way to it.
struct Placed {
  const NotchCut* cut;
  const EdgeBase* base;
  /// mm along the outline, of the base's start, so that the mouth begins within one way round
  double first;
  /// the same, of the part replaced
  double from, to;
};

/// In order along the outline, none over the next.
std::vector<Placed> placed_on(double around, const std::vector<EdgeBase>& bases,
                              const std::vector<std::vector<NotchCut>>& cuts) {
  std::vector<Placed> placed;
  for (std::size_t b = 0; b < bases.size(); ++b) {
    for (const NotchCut& cut : cuts[b]) {
      // An edge that passes the outline's first point counts on; where its notch lies there, it counts from 0 again.
      const double turns = std::floor((bases[b].along.front() + cut.from) / around) * around;
      const double first = bases[b].along.front() - turns, last = bases[b].along.back() - turns;
      placed.push_back({&cut, &bases[b], first, std::max(first, first + cut.from - splice),
                        std::min(last, first + cut.to + splice)});
    }
  }
  std::sort(placed.begin(), placed.end(), [](const Placed& a, const Placed& b) { return a.from < b.from; });
  for (std::size_t i = 0; i + 1 < placed.size(); ++i) {
    if (placed[i].to > placed[i + 1].from)
      placed[i].to = placed[i + 1].from = 0.5 * (placed[i].to + placed[i + 1].from);
  }
  return placed;
}

/// An outline made anew from stretches of the old one, of bases and of cuts, in order.
class Course {
 public:
  Course(const panel::Contour& outline, double around)
      : outline_(outline), around_(around), arc_(outline.points.size()) {
    for (std::size_t i = 1; i < arc_.size(); ++i)
      arc_[i] = arc_[i - 1] + (outline.points[i] - outline.points[i - 1]).norm();
  }

  /// The outline's own points strictly between two places; `to` may run over the end.
  void add_own(double from, double to) {
    std::vector<std::pair<double, std::size_t>> order;
    for (std::size_t i = 0; i < arc_.size(); ++i) {
      for (const double turn : turns_round) {
        const double along = arc_[i] + turn * around_;
        if (along > from && along < to) order.emplace_back(along, i);
      }
    }
    std::sort(order.begin(), order.end());
    kept_ += order.size();
    for (const auto& [at, i] : order) add(outline_.points[i], outline_.sigma[i], outline_.U[i]);
  }

  /// From here on, what is added is as sure as the outline on either side of the stretch replaced: what the fit made of the notch's sides says nothing of the edge.
  void replace(double from, double to) {
    const std::size_t before = nearest(from), after = nearest(to);
    sigma_ = std::max(outline_.sigma[before], outline_.sigma[after]);
    U_ = std::max(outline_.U[before], outline_.U[after]);
  }

  /// The base's points between two places.
  void add_base(const EdgeBase& base, double first, double from, double to) {
    for (double s = from; s < to - least_step; s += base.spacing) {
      const double k = std::clamp((s - first) / base.spacing, 0.0, static_cast<double>(base.points.size() - 1));
      const auto i = std::min(static_cast<std::size_t>(k), base.points.size() - 2);
      add(base.points[i] + (k - static_cast<double>(i)) * (base.points[i + 1] - base.points[i]), sigma_, U_);
    }
  }

  /// The notch's own course; gives its first and last point. Where it may be none, the other story is the edge straight on: U reaches as far as that.
  std::pair<std::size_t, std::size_t> add_cut(const NotchCut& cut) {
    constexpr double sure = 0.95;  // what U is to cover
    const std::size_t mouth = out_.points.size();
    const Polyline straight_on{cut.course.front(), cut.course.back()};
    for (const Vec2& c : evenly(cut.course, course_step)) {
      const double other = cut.notch.confidence < sure ? geometry::distance_to(straight_on, c, false) : 0;
      add(c, cut.notch.sigma, std::max({U_, 2 * cut.notch.sigma, other}));
    }
    return {mouth, out_.points.size() - 1};
  }

  /// A wrong outline is worse than none: whatever no notch replaces must be there, once.
  void check_whole(const std::vector<Placed>& placed) const {
    std::size_t outside = 0;
    for (const double a : arc_) {
      outside += std::none_of(placed.begin(), placed.end(), [&](const Placed& p) {
        return std::any_of(turns_round.begin(), turns_round.end(),
                           [&](double turn) { return a + turn * around_ >= p.from && a + turn * around_ <= p.to; });
      });
    }
    if (kept_ != outside)
      throw std::logic_error(
          fmt::format("cut_notches: {} of {} outline points outside the notches were kept", kept_, outside));
  }

  panel::Contour take() { return std::move(out_); }

 private:
  static constexpr std::array<double, 3> turns_round{-1, 0, 1};

  /// The outline's own point nearest to a place, which may lie a turn off.
  std::size_t nearest(double place) const {
    const double at = place - std::floor(place / around_) * around_;
    const auto next = std::lower_bound(arc_.begin(), arc_.end(), at);
    const auto after = static_cast<std::size_t>(next - arc_.begin()) % arc_.size();
    if (next == arc_.begin() || next == arc_.end()) return after;
    return *next - at < at - *(next - 1) ? after : after - 1;
  }

  void add(const Vec2& p, double sigma, double U) {
    out_.points.push_back(p);
    out_.sigma.push_back(sigma);
    out_.U.push_back(U);
  }

  const panel::Contour& outline_;
  double around_;
  /// mm along the outline, of each point
  std::vector<double> arc_;
  double sigma_ = 0, U_ = 0;
  panel::Contour out_;
  std::size_t kept_ = 0;
};

void check_bases(const std::vector<EdgeBase>& bases, const std::vector<std::vector<NotchCut>>& cuts) {
  if (bases.size() != cuts.size())
    throw std::logic_error(fmt::format("cut_notches: cuts of {} edges for {} bases", cuts.size(), bases.size()));
  for (const EdgeBase& base : bases) {
    if (base.points.size() < 2 || base.along.size() != base.points.size())
      throw std::logic_error(fmt::format("cut_notches: a base of {} points and {} places; at least two of each wanted",
                                         base.points.size(), base.along.size()));
  }
}

}  // namespace

void cut_notches(panel::Panel& panel, const std::vector<EdgeBase>& bases,
                 const std::vector<std::vector<NotchCut>>& cuts) {
  check_bases(bases, cuts);
  const double around = geometry::ClosedOutline(panel.outline.points).length();
  const std::vector<Placed> placed = placed_on(around, bases, cuts);
  if (placed.empty()) return;
  // Start where no notch is, so that none lies across the first point.
  const double start =
      placed.back().to - around < 0 && placed.front().from > 0 ? 0 : placed.front().from - beside_start;
  Course course(panel.outline, around);
  std::vector<std::pair<std::size_t, std::size_t>> ends;
  double at = start;
  for (const Placed& p : placed) {
    constexpr double past_mouth = 0.5;  // mm: the course's last point stands there
    course.add_own(at, p.from);
    course.replace(p.from, p.to);
    course.add_base(*p.base, p.first, p.from, p.first + p.cut->from);
    ends.push_back(course.add_cut(*p.cut));
    course.add_base(*p.base, p.first, p.first + p.cut->to + past_mouth, p.to);
    at = p.to;
  }
  course.add_own(at, start + around + beside_end);
  course.check_whole(placed);
  panel.outline = course.take();
  for (std::size_t i = 0; i < placed.size(); ++i) {
    panel::Notch notch = placed[i].cut->notch;
    notch.first = ends[i].first;
    notch.last = ends[i].second;
    panel.marks.notches.push_back(notch);
  }
  const geometry::ClosedOutline across(panel::outline_across_notches(panel).points);
  for (panel::Notch& notch : panel.marks.notches) notch.along = across.nearest(notch.foot).along;
}

}  // namespace chalkfold::trace
