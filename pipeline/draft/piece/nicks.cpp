// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/piece/nicks.h"

#include <algorithm>
#include <cmath>

#include "pipeline/common/check_option.h"
#include "pipeline/common/require.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/vectors.h"

namespace chalkfold::draft {
namespace {

/// A closed contour by arc length.
class Ruler {
 public:
  explicit Ruler(const Polyline& points) : points_(points) {
    stations_.push_back(0);
    for (std::size_t i = 0; i < points.size(); ++i)
      stations_.push_back(stations_.back() + (points[(i + 1) % points.size()] - points[i]).norm());
    const auto count = static_cast<std::size_t>(std::max(8.0, 2 * length()));
    step_ = length() / static_cast<double>(count);
    samples_ = geometry::resample_closed(points, count);
  }
  double length() const { return stations_.back(); }
  double wrapped(double s) const { return s - length() * std::floor(s / length()); }
  std::size_t index(double s) const {  // of the point at or before s
    const auto next = std::upper_bound(stations_.begin(), stations_.end(), wrapped(s));
    return std::min(static_cast<std::size_t>(next - stations_.begin()) - 1, points_.size() - 1);
  }
  Vec2 at(double s) const {
    const std::size_t i = index(s);
    const double step = stations_[i + 1] - stations_[i], share = step > 0 ? (wrapped(s) - stations_[i]) / step : 0;
    return points_[i] + share * (points_[(i + 1) % points_.size()] - points_[i]);
  }
  double station(std::size_t i) const { return stations_[i]; }

  /// Within a quarter of a millimetre of at(s), and quick.
  const Vec2& about(double s) const {
    const double at = std::round(s / step_);
    const auto n = static_cast<double>(samples_.size());
    return samples_[static_cast<std::size_t>(at - n * std::floor(at / n))];
  }

 private:
  const Polyline& points_;
  Polyline samples_;
  /// mm
  double step_ = 0.5;
  std::vector<double> stations_;
};

constexpr double near = 3, far = 24;  // mm beyond a nick's ends: clear of a rounded mouth, and a straight run

/// Whether the edge goes on after `to` as it came before `from`.
bool goes_on(const Ruler& ruler, double from, double to, const NickOptions& options) {
  const Vec2 &a0 = ruler.about(from - far), &a1 = ruler.about(from - near), &b0 = ruler.about(to + near),
             &b1 = ruler.about(to + far);
  const Vec2 in = (a1 - a0).normalized(), out = (b1 - b0).normalized(), mean = (in + out).normalized();
  return std::abs(std::atan2(geometry::cross(in, out), in.dot(out))) < options.same_way &&
         std::abs(geometry::cross(mean, b0 - a1)) < options.same_line && mean.dot(b0 - a1) > 0 &&
         mean.dot(b0 - a1) < 22;  // mm, a mouth of at most 16
}

struct Span {
  /// mm along, to > from
  double from = 0, to = 0;
};

/// The dent's depth below its mouth's chord; positive inside the outline.
Nick nick_in(const Ruler& ruler, const Span& span) {
  const Vec2 a = ruler.at(span.from), b = ruler.at(span.to), along = (b - a).normalized();
  Nick nick;
  nick.foot = 0.5 * (a + b);
  for (double s = span.from; s <= span.to; s += 0.25) {
    const double depth = geometry::cross(along, ruler.about(s) - a);  // left of the way of travel is inside
    if (depth <= nick.depth) continue;
    nick.depth = depth;
    nick.tip = ruler.about(s);
  }
  if (nick.depth > 0) nick.foot = a + along.dot(nick.tip - a) * along;
  return nick;
}

/// How far a few places between lie inside the chord: enough to pass over straight edges quickly.
bool may_dent(const Ruler& ruler, double from, double to, double depth) {
  const Vec2& a = ruler.about(from);
  const Vec2 along = (ruler.about(to) - a).normalized();
  for (const double share : {0.5, 0.4, 0.6, 0.3, 0.7})
    if (geometry::cross(along, ruler.about(from + share * (to - from)) - a) > 0.6 * depth) return true;
  return false;
}

/// Spans that dent inward while the edge goes on beyond them; of each place the one that holds the whole dent and little more.
std::vector<Span> spans_of(const Ruler& ruler, const NickOptions& options) {
  struct Candidate {
    Span span;
    /// mm
    double worth = 0;
  };
  constexpr double price = 0.05;  // mm of depth that a span must gain for each mm that it is wider
  std::vector<Candidate> candidates;
  for (double width = 4; width <= options.widest + 8; width += 1)
    for (double s = 0; s < ruler.length(); s += 1) {
      if (!may_dent(ruler, s, s + width, options.least_depth) || !goes_on(ruler, s, s + width, options)) continue;
      const Span span{s - near, s + width + near};
      const double depth = nick_in(ruler, span).depth;
      if (depth >= options.least_depth && depth <= options.most_depth)
        candidates.push_back({span, depth - price * width});
    }
  std::stable_sort(candidates.begin(), candidates.end(),
                   [](const Candidate& a, const Candidate& b) { return a.worth > b.worth; });
  std::vector<Span> spans;
  for (const auto& [span, worth] : candidates) {
    const double own = 0.5 * (span.from + span.to), half = 0.5 * (span.to - span.from);
    const bool taken = std::any_of(spans.begin(), spans.end(), [&, own, half](const Span& other) {
      const double middle = std::remainder(own - 0.5 * (other.from + other.to), ruler.length());
      return std::abs(middle) < half + 0.5 * (other.to - other.from);
    });
    if (!taken) spans.push_back(span);
  }
  std::sort(spans.begin(), spans.end(), [](const Span& a, const Span& b) { return a.from < b.from; });
  return spans;
}

}  // namespace

void check(const NickOptions& o) {
  check_option("widest nick, mm,", o.widest, 1, 200);
  check_option("turn across a nick, rad,", o.same_way, 0, 3);
  check_option("step across a nick, mm,", o.same_line, 0, 50);
  check_option("least depth of a nick, mm,", o.least_depth, 0.1, 100);
  check_option("most depth of a nick, mm,", o.most_depth, o.least_depth, 100);
}

panel::Contour across_nicks(const panel::Contour& outline, std::vector<Nick>& nicks, const NickOptions& options) {
  check(options);
  require_at_least("points of the contour", outline.points.size(), 3);
  require_equal("sigmas of the contour", outline.sigma.size(), outline.points.size());
  require_equal("U of the contour", outline.U.size(), outline.points.size());
  const Ruler ruler(outline.points);
  if (ruler.length() < 8 * far) return outline;
  const std::vector<Span> spans = spans_of(ruler, options);
  if (spans.empty()) return outline;
  panel::Contour out;
  const auto inside = [&](double s) {
    return std::find_if(spans.begin(), spans.end(), [&](const Span& span) {
      return (s > span.from && s < span.to) || (s + ruler.length() > span.from && s + ruler.length() < span.to) ||
             (s - ruler.length() > span.from && s - ruler.length() < span.to);
    });
  };
  const std::size_t n = outline.points.size();
  std::size_t start = 0;
  while (start < n && inside(ruler.station(start)) != spans.end()) ++start;
  std::vector<bool> bridged(spans.size(), false);
  for (std::size_t k = 0; k < n; ++k) {
    const std::size_t i = (start + k) % n;
    const auto span = inside(ruler.station(i));
    if (span == spans.end()) {
      out.points.push_back(outline.points[i]);
      out.sigma.push_back(outline.sigma[i]);
      out.U.push_back(outline.U[i]);
      continue;
    }
    const auto which = static_cast<std::size_t>(span - spans.begin());
    if (bridged[which]) continue;
    bridged[which] = true;
    const Nick nick = nick_in(ruler, *span);
    if (nick.depth >= options.least_depth) nicks.push_back(nick);
    const Vec2 a = ruler.at(span->from), b = ruler.at(span->to);
    const int steps = std::max(1, static_cast<int>((b - a).norm()));
    for (int step = 0; step <= steps; ++step) {
      out.points.push_back(a + (b - a) * step / steps);
      out.sigma.push_back(std::max(0.3, outline.sigma[ruler.index(span->from)]));
      out.U.push_back(outline.U[ruler.index(span->from)]);
    }
  }
  return out;
}

}  // namespace chalkfold::draft
