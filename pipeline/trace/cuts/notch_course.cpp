// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/cuts/notch_course.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <stdexcept>

#include "pipeline/geometry/closed_outline.h"
#include "pipeline/geometry/robust.h"

namespace chalkfold::trace {
namespace {

constexpr double splice = 5;         // mm of outline beside a mouth that the fit may have rounded
constexpr double course_step = 0.5;  // mm

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

}  // namespace

void cut_notches(panel::Panel& panel, const std::vector<EdgeBase>& bases,
                 const std::vector<std::vector<NotchCut>>& cuts) {
  struct Placed {
    const NotchCut* cut;
    const EdgeBase* base;
    double first;     // along the outline, of the base's start, so that the mouth begins within one way round
    double from, to;  // the same, of the part replaced
  };
  const geometry::ClosedOutline ruler(panel.outline.points);
  std::vector<Placed> placed;
  for (std::size_t b = 0; b < bases.size(); ++b) {
    for (const NotchCut& cut : cuts[b]) {
      // An edge that passes the outline's first point counts on; where its notch lies there, it counts from 0 again.
      const double turns = std::floor((bases[b].along.front() + cut.from) / ruler.length()) * ruler.length();
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
  if (placed.empty()) return;

  // Start where no notch is, so that none lies across the first point.
  const double start =
      placed.back().to - ruler.length() < 0 && placed.front().from > 0 ? 0 : placed.front().from - 1e-6;
  panel::Contour out;
  std::vector<std::pair<std::size_t, std::size_t>> ends;
  const std::size_t n = panel.outline.points.size();
  std::vector<double> arc(n);
  for (std::size_t i = 1; i < n; ++i)
    arc[i] = arc[i - 1] + (panel.outline.points[i] - panel.outline.points[i - 1]).norm();
  const auto add = [&](const Vec2& p, double sigma, double U) {
    out.points.push_back(p);
    out.sigma.push_back(sigma);
    out.U.push_back(U);
  };
  constexpr std::array<double, 3> turns_round{-1, 0, 1};
  std::size_t kept = 0;
  const auto add_outline = [&](double from,
                               double to) {  // outline points strictly between two places, from may run over the end
    std::vector<std::pair<double, std::size_t>> order;
    for (std::size_t i = 0; i < n; ++i) {
      for (const double turn : turns_round) {
        const double along = arc[i] + turn * ruler.length();
        if (along > from && along < to) order.emplace_back(along, i);
      }
    }
    std::sort(order.begin(), order.end());
    kept += order.size();
    for (const auto& [at, i] : order) add(panel.outline.points[i], panel.outline.sigma[i], panel.outline.U[i]);
  };
  // What the fit made of the notch's sides says nothing of the edge beside it.
  const double sigma = geometry::median(panel.outline.sigma), U = geometry::median(panel.outline.U);
  double at = start;
  for (const Placed& p : placed) {
    add_outline(at, p.from);
    const double first = p.first;
    const auto add_base = [&](double from, double to) {
      for (double s = from; s < to - 0.25; s += p.base->spacing) {
        const double k = std::clamp((s - first) / p.base->spacing, 0.0, static_cast<double>(p.base->points.size() - 1));
        const auto i = std::min(static_cast<std::size_t>(k), p.base->points.size() - 2);
        add(p.base->points[i] + (k - static_cast<double>(i)) * (p.base->points[i + 1] - p.base->points[i]), sigma, U);
      }
    };
    add_base(p.from, first + p.cut->from);
    const std::size_t mouth = out.points.size();
    for (const Vec2& c : evenly(p.cut->course, course_step))
      add(c, p.cut->notch.sigma, std::max(U, 2 * p.cut->notch.sigma));
    ends.emplace_back(mouth, out.points.size() - 1);
    add_base(first + p.cut->to + 0.5, p.to);
    at = p.to;
  }
  add_outline(at, start + ruler.length() + 1e-9);
  // A wrong outline is worse than none: whatever no notch replaces must be there, once.
  std::size_t outside = 0;
  for (const double a : arc) {
    outside += std::none_of(placed.begin(), placed.end(), [&](const Placed& p) {
      return std::any_of(turns_round.begin(), turns_round.end(), [&](double turn) {
        return a + turn * ruler.length() >= p.from && a + turn * ruler.length() <= p.to;
      });
    });
  }
  if (kept != outside)
    throw std::logic_error(
        fmt::format("cut_notches: {} of {} outline points outside the notches were kept", kept, outside));
  panel.outline = std::move(out);
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
