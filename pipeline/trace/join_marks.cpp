// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/join_marks.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <optional>

#include "pipeline/geometry/closed_outline.h"
#include "pipeline/geometry/line_fit.h"
#include "pipeline/geometry/robust.h"
#include "pipeline/geometry/vectors.h"

namespace chalkfold::trace {
namespace {

using Believed = std::function<bool(const Vec2&)>;

// How near two photos put one mark is told by what lies nearest to it of its kind; none of it was fitted.
constexpr double least_sigma = 1e-3;  // mm: keeps shares finite

double angle_between(const Vec2& a, const Vec2& b) { return std::abs(std::atan2(geometry::cross(a, b), a.dot(b))); }

/// Share of the second of two values in their mean by 1 / sigma2.
double share_of(double sigma, double other_sigma) {
  const double a = std::max(sigma, least_sigma), b = std::max(other_sigma, least_sigma);
  return a * a / (a * a + b * b);
}

double mean_sigma(double a, double b) {
  const double s = share_of(a, b);
  return std::sqrt(std::pow((1 - s) * a, 2) + std::pow(s * b, 2));
}

/// Two photos saw it: both would have to be wrong.
double seen_twice(double a, double b) { return 1 - (1 - a) * (1 - b); }

void add_matches(std::vector<panel::MatchMark>& known, const std::vector<panel::MatchMark>& more,
                 const Believed& believed) {
  constexpr double same = 4, same_turn = 0.35;  // mm, rad: strokes of a double mark lie farther apart
  int next_group = 0;
  for (const panel::MatchMark& m : known) next_group = std::max(next_group, m.group + 1);
  const auto believed_whole = [&](const panel::MatchMark& m) { return believed(m.foot) && believed(m.tip); };
  const auto before = static_cast<std::ptrdiff_t>(known.size());
  const auto like_of = [&](const panel::MatchMark& m) {
    const auto end = known.begin() + before;
    const auto like = std::find_if(known.begin(), end, [&](const panel::MatchMark& k) {
      return (k.foot - m.foot).norm() < same && angle_between(k.tip - k.foot, m.tip - m.foot) < same_turn;
    });
    return like == end ? known.end() : like;
  };
  std::map<int, int> known_group;  // by its group in `more`: of a double one stroke may be there already
  for (const panel::MatchMark& m : more)
    if (believed_whole(m))
      if (const auto like = like_of(m); like != known.end()) known_group.emplace(m.group, like->group);
  for (panel::MatchMark m : more) {
    if (!believed_whole(m)) continue;
    const auto like = like_of(m);
    if (like == known.end()) {
      const auto group = known_group.find(m.group);
      m.group = group != known_group.end() ? group->second : m.group + next_group;
      known.push_back(m);
      continue;
    }
    const double s = share_of(like->sigma, m.sigma);
    like->foot = (1 - s) * like->foot + s * m.foot;
    like->tip = (1 - s) * like->tip + s * m.tip;
    like->sigma = mean_sigma(like->sigma, m.sigma);
    like->confidence = seen_twice(like->confidence, m.confidence);
    if (!like->number) like->number = m.number;
  }
}

void add_holes(std::vector<panel::DrillHole>& known, const std::vector<panel::DrillHole>& more,
               const Believed& believed) {
  constexpr double same = 3;  // mm: holes lie centimetres apart
  for (const panel::DrillHole& h : more) {
    if (!believed(h.centre)) continue;
    const auto like = std::find_if(known.begin(), known.end(),
                                   [&](const panel::DrillHole& k) { return (k.centre - h.centre).norm() < same; });
    if (like == known.end()) {
      known.push_back(h);
      continue;
    }
    const double s = share_of(like->sigma, h.sigma);
    like->centre = (1 - s) * like->centre + s * h.centre;
    like->diameter = (1 - s) * like->diameter + s * h.diameter;
    like->sigma = mean_sigma(like->sigma, h.sigma);
    like->confidence = seen_twice(like->confidence, h.confidence);
  }
}

void add_writings(std::vector<panel::Writing>& known, const std::vector<panel::Writing>& more,
                  const Believed& believed) {
  const auto middle = [](const panel::Writing& w) { return Vec2(0.25 * (w.box[0] + w.box[1] + w.box[2] + w.box[3])); };
  for (const panel::Writing& w : more) {
    if (!std::all_of(w.box.begin(), w.box.end(), believed)) continue;
    const double size = (w.box[2] - w.box[0]).norm();
    const auto like = std::find_if(known.begin(), known.end(), [&](const panel::Writing& k) {
      return (middle(k) - middle(w)).norm() < 0.5 * size;
    });
    if (like == known.end())
      known.push_back(w);
    else if (w.underside > like->underside || (w.underside == like->underside && w.confidence > like->confidence))
      *like = w;
  }
}

/// The line through the ends of both strokes, weighted by sigma, as long as both together.
void add_centre(std::optional<panel::CentreLine>& known, const std::optional<panel::CentreLine>& more,
                const Believed& believed) {
  if (!more || !believed(0.5 * (more->from + more->to))) return;
  if (!known) {
    known = more;
    return;
  }
  constexpr double same_turn = 0.02, same_place = 2;  // rad, mm: 1.2 degrees, a stroke's width
  constexpr double least_line_sigma = 0.02;  // mm: so that no stroke outvotes the other by more than its length
  const Vec2 along = (known->to - known->from).normalized();
  const double off = geometry::cross(along, 0.5 * (more->from + more->to) - known->from);
  if (angle_between(along, more->to - more->from) > same_turn || std::abs(off) > same_place) {
    if ((more->to - more->from).norm() > (known->to - known->from).norm()) known = more;
    return;
  }
  Polyline points;
  constexpr int steps = 20;  // along the better one
  // Each stroke counts by its length and certainty: points along it, more of the better one.
  for (const panel::CentreLine* line : {static_cast<const panel::CentreLine*>(&*known), &*more}) {
    const double worth = (line->to - line->from).norm() / std::max(line->sigma, least_line_sigma);
    const double most = std::max((known->to - known->from).norm() / std::max(known->sigma, least_line_sigma),
                                 (more->to - more->from).norm() / std::max(more->sigma, least_line_sigma));
    const int count = std::max(2, static_cast<int>(std::lround(steps * worth / most)));
    for (int i = 0; i <= count; ++i)
      points.push_back(line->from + static_cast<double>(i) / count * (line->to - line->from));
  }
  const geometry::FittedLine line = geometry::fit_line(points);
  Vec2 from = line.at(line.from), to = line.at(line.to);
  if (from.y() > to.y()) std::swap(from, to);
  known->from = from;
  known->to = to;
  known->straightness = std::max(known->straightness, more->straightness);
  known->sigma = mean_sigma(known->sigma, more->sigma);
  known->sigma_angle = mean_sigma(known->sigma_angle, more->sigma_angle);
  known->confidence = seen_twice(known->confidence, more->confidence);
}

void add_grain(std::optional<panel::GrainLine>& known, const std::optional<panel::GrainLine>& more,
               const Believed& believed) {
  if (!more || !believed(more->tail) || !believed(more->head)) return;
  if (!known || more->confidence > known->confidence) known = more;
}

double rank(const panel::NeedleRow& row) { return row.found_share * static_cast<double>(row.points.size()); }

std::vector<double> places_of(const panel::NeedleRow& row, const geometry::ClosedOutline& ruler) {
  std::vector<double> along;
  for (const Vec2& p : row.points) {
    double a = ruler.nearest(p).along;
    if (!along.empty()) a = along.back() + std::remainder(a - along.back(), ruler.length());
    along.push_back(a);
  }
  return along;
}

/// Makes a row longer by those points of its like that lie beyond its ends.
void prolong(panel::NeedleRow& row, const panel::NeedleRow& like, const geometry::ClosedOutline& ruler) {
  const std::vector<double> own = places_of(row, ruler);
  Polyline before, after;
  double anchor = own.front();
  for (const Vec2& p : like.points) {
    const double a = anchor + std::remainder(ruler.nearest(p).along - anchor, ruler.length());
    anchor = a;
    if (a < own.front())
      before.push_back(p);
    else if (a > own.back())
      after.push_back(p);
  }
  row.points.insert(row.points.begin(), before.begin(), before.end());
  row.points.insert(row.points.end(), after.begin(), after.end());
  std::vector<double> distance, spread;
  for (const Vec2& p : row.points) distance.push_back((ruler.nearest(p).point - p).norm());
  row.allowance = geometry::median(distance);
  for (const double d : distance) spread.push_back(std::abs(d - row.allowance));
  row.allowance_spread = geometry::robust_sigma(spread);
  row.confidence = seen_twice(row.confidence, like.confidence);
}

constexpr std::size_t few_holes = 3;  // that make a row: two lie on a line with anything

bool same_row(const panel::NeedleRow& a, const panel::NeedleRow& b) {
  constexpr double beside = 1.5;  // mm: the two rows of a double seam are farther apart
  std::size_t near = 0;
  for (const Vec2& p : b.points) near += geometry::distance_to(a.points, p, false) < beside;
  return near >= few_holes;
}

void add_rows(std::vector<panel::NeedleRow>& known, const std::vector<panel::NeedleRow>& more,
              const geometry::ClosedOutline& ruler, const Believed& believed) {
  for (panel::NeedleRow row : more) {
    std::erase_if(row.points, [&](const Vec2& p) { return !believed(p); });
    if (row.points.size() < few_holes) continue;
    const auto like =
        std::find_if(known.begin(), known.end(), [&](const panel::NeedleRow& k) { return same_row(k, row); });
    if (like == known.end()) {
      known.push_back(std::move(row));
    } else {
      if (rank(row) > rank(*like)) std::swap(row, *like);
      prolong(*like, row, ruler);
      // What was seen in pieces before may lie along it as well.
      auto own = static_cast<std::size_t>(like - known.begin());
      for (std::size_t k = known.size(); k-- > 0;) {
        if (k == own || !same_row(known[own], known[k])) continue;
        prolong(known[own], known[k], ruler);
        known.erase(known.begin() + static_cast<std::ptrdiff_t>(k));
        if (k < own) --own;
      }
    }
  }
}

/// A notch and its cut, from one side of the mouth to the other.
struct CutNotch {
  panel::Notch notch;
  panel::Contour course;
  /// mm along the outline across the notches
  double from = 0, to = 0;
};

std::vector<CutNotch> cuts_of(const panel::Panel& panel) {
  std::vector<CutNotch> cuts;
  const std::size_t n = panel.outline.points.size();
  for (const panel::Notch& notch : panel.marks.notches) {
    CutNotch cut{notch, {}, 0, 0};
    for (std::size_t i = notch.first;; i = (i + 1) % n) {
      cut.course.points.push_back(panel.outline.points[i]);
      cut.course.sigma.push_back(panel.outline.sigma[i]);
      cut.course.U.push_back(panel.outline.U[i]);
      if (i == notch.last) break;
    }
    cuts.push_back(std::move(cut));
  }
  return cuts;
}

/// The outline with the cuts' courses in it; places in `across`, from whose first point no cut may start or end beyond.
void put_cuts(panel::Panel& panel, const panel::Contour& across, std::vector<CutNotch> cuts) {
  const geometry::ClosedOutline ruler(across.points);
  for (CutNotch& cut : cuts) {
    cut.from = ruler.nearest(cut.course.points.front()).along;
    cut.to = ruler.nearest(cut.course.points.back()).along;
  }
  std::erase_if(cuts, [](const CutNotch& cut) { return cut.to <= cut.from; });
  std::stable_sort(cuts.begin(), cuts.end(), [](const CutNotch& a, const CutNotch& b) { return a.from < b.from; });
  panel.outline = {};
  panel.marks.notches.clear();
  const auto add = [&](const panel::Contour& from, std::size_t i) {
    panel.outline.points.push_back(from.points[i]);
    panel.outline.sigma.push_back(from.sigma[i]);
    panel.outline.U.push_back(from.U[i]);
  };
  std::size_t next = 0;
  double along = 0;
  for (std::size_t i = 0; i < across.points.size(); ++i) {
    if (i > 0) along += (across.points[i] - across.points[i - 1]).norm();
    while (next < cuts.size() && along > cuts[next].from) {
      CutNotch& cut = cuts[next++];
      cut.notch.first = panel.outline.points.size();
      for (std::size_t k = 0; k < cut.course.points.size(); ++k) add(cut.course, k);
      cut.notch.last = panel.outline.points.size() - 1;
      panel.marks.notches.push_back(cut.notch);
    }
    const bool in_mouth = next > 0 && along <= cuts[next - 1].to;
    if (!in_mouth) add(across, i);
  }
}

/// Starts the contour where it is farthest from every cut, so that none lies over its first point.
void turn_away_from_cuts(panel::Contour& contour, const std::vector<CutNotch>& cuts) {
  std::size_t start = 0;
  double farthest = -1;
  for (std::size_t i = 0; i < contour.points.size(); ++i) {
    double nearest = 1e300;
    for (const CutNotch& cut : cuts) nearest = std::min(nearest, (cut.notch.foot - contour.points[i]).norm());
    if (nearest <= farthest) continue;
    farthest = nearest;
    start = i;
  }
  const auto by = static_cast<std::ptrdiff_t>(start);
  std::rotate(contour.points.begin(), contour.points.begin() + by, contour.points.end());
  std::rotate(contour.sigma.begin(), contour.sigma.begin() + by, contour.sigma.end());
  std::rotate(contour.U.begin(), contour.U.begin() + by, contour.U.end());
}

void add_notches(panel::Panel& joined, const panel::Panel& seen, const Believed& believed) {
  constexpr double same = 6;  // mm between the middles of two mouths
  std::vector<CutNotch> cuts = cuts_of(joined);
  bool more = false;
  for (CutNotch& cut : cuts_of(seen)) {
    if (!believed(cut.notch.foot) || !believed(cut.notch.tip)) continue;
    const auto like = std::find_if(cuts.begin(), cuts.end(),
                                   [&](const CutNotch& k) { return (k.notch.foot - cut.notch.foot).norm() < same; });
    if (like == cuts.end())
      cuts.push_back(std::move(cut));
    else if (cut.notch.sigma < like->notch.sigma)
      *like = std::move(cut);
    else
      continue;
    more = true;
  }
  if (!more) return;
  panel::Contour across = panel::outline_across_notches(joined);
  turn_away_from_cuts(across, cuts);
  put_cuts(joined, across, std::move(cuts));
}

/// Everything that is measured along the outline.
void measure_along(panel::Panel& panel) {
  const geometry::ClosedOutline ruler(panel::outline_across_notches(panel).points);
  panel::Marks& marks = panel.marks;
  for (panel::Notch& n : marks.notches) n.along = ruler.nearest(n.foot).along;
  for (panel::MatchMark& m : marks.matches) {
    // The mean of two feet lies a hair beside the outline.
    const auto place = ruler.nearest(m.foot);
    m.foot = place.point;
    m.along = place.along;
  }
  std::stable_sort(marks.matches.begin(), marks.matches.end(),
                   [](const panel::MatchMark& a, const panel::MatchMark& b) { return a.along < b.along; });
  std::vector<int> order;
  for (panel::MatchMark& m : marks.matches) {
    auto at = std::find(order.begin(), order.end(), m.group);
    if (at == order.end()) at = order.insert(order.end(), m.group);
    m.group = static_cast<int>(at - order.begin());
  }
}

}  // namespace

panel::Panel moved(const geometry::Rigid2& motion, panel::Panel panel) {
  const auto move = [&](Polyline& points) { points = geometry::moved(motion, std::move(points)); };
  move(panel.outline.points);
  for (panel::Contour& c : panel.cutouts) move(c.points);
  panel::Marks& marks = panel.marks;
  for (panel::MatchMark& m : marks.matches) {
    m.foot = motion * m.foot;
    m.tip = motion * m.tip;
    if (!m.number) continue;
    geometry::Box box;  // stays upright: what it holds is to be read by a person
    for (const Vec2& p : {m.number->low, m.number->high, Vec2(m.number->low.x(), m.number->high.y()),
                          Vec2(m.number->high.x(), m.number->low.y())})
      box.add(motion * p);
    m.number = panel::MarkCrop{box.min, box.max};
  }
  if (marks.centre) {
    marks.centre->from = motion * marks.centre->from;
    marks.centre->to = motion * marks.centre->to;
    if (marks.centre->from.y() > marks.centre->to.y()) std::swap(marks.centre->from, marks.centre->to);
  }
  if (marks.grain) {
    marks.grain->tail = motion * marks.grain->tail;
    marks.grain->head = motion * marks.grain->head;
  }
  for (panel::Writing& w : marks.writings) {
    for (Vec2& p : w.box) p = motion * p;
    w.up = std::remainder(w.up + motion.angle, 2 * std::numbers::pi);
  }
  for (panel::Notch& n : marks.notches) {
    n.foot = motion * n.foot;
    n.tip = motion * n.tip;
  }
  for (panel::DrillHole& h : marks.holes) h.centre = motion * h.centre;
  for (panel::NeedleRow& r : marks.needle_rows) move(r.points);
  for (panel::Flaw& f : panel.flaws) move(f.ring);
  return panel;
}

void add_marks(panel::Panel& joined, const panel::Panel& seen, const Believed& believed) {
  add_notches(joined, seen, believed);
  const geometry::ClosedOutline ruler(panel::outline_across_notches(joined).points);
  add_matches(joined.marks.matches, seen.marks.matches, believed);
  add_holes(joined.marks.holes, seen.marks.holes, believed);
  add_writings(joined.marks.writings, seen.marks.writings, believed);
  add_centre(joined.marks.centre, seen.marks.centre, believed);
  add_grain(joined.marks.grain, seen.marks.grain, believed);
  add_rows(joined.marks.needle_rows, seen.marks.needle_rows, ruler, believed);
  measure_along(joined);
}

}  // namespace chalkfold::trace
