// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/curve_fit.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>

#include "pipeline/common/check_option.h"
#include "pipeline/common/require.h"
#include "pipeline/geometry/cubic_fit.h"
#include "pipeline/geometry/curve_split.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/robust.h"

namespace chalkfold::geometry {
namespace {

/// Fewer hardly tell an arc from two lines.
constexpr std::size_t least_bins = 12;

/// Neighbours averaged until no more than `most` are left.
WeightedPoints binned(const Polyline& points, const std::vector<double>& sigma, double least_sigma, std::size_t most) {
  WeightedPoints w;
  const std::size_t bins = std::min(points.size(), most);
  for (std::size_t b = 0; b < bins; ++b) {
    const std::size_t first = b * points.size() / bins, last = (b + 1) * points.size() / bins;
    Vec2 sum = Vec2::Zero();
    double weight = 0;
    for (std::size_t i = first; i < last; ++i) {
      const double wi = 1 / (sigma[i] * sigma[i] + least_sigma * least_sigma);
      sum += wi * points[i];
      weight += wi;
    }
    w.points.push_back(sum / weight);
    w.weight.push_back(weight);
  }
  if (points.size() > bins) {  // averages lie inside the run's ends
    w.points.front() = points.front();
    w.points.back() = points.back();
    w.weight.front() *= 0.3;
    w.weight.back() *= 0.3;
  }
  return w;
}

std::size_t bins_of(const Polyline& points, const CurveFitOptions& options) {
  const auto wanted = static_cast<std::size_t>(length(points, false) / options.bin);
  return std::clamp(wanted, least_bins, options.most_bins);
}

struct Departure {
  double largest = 0, rms = 0;
  /// point where it is largest
  std::size_t at = 0;
};

/// Of the running mean of clipped distances; its own noise taken off.
Departure departure_of(const std::vector<double>& distances, const Polyline& points, const CurveFitOptions& options,
                       double noise) {
  Departure d;
  double sum = 0, station = 0, squares = 0;
  std::vector<double> stations;
  std::size_t tail = 0;
  const double whole = std::min(options.window, 0.5 * length(points, false));
  for (std::size_t head = 0; head < points.size(); ++head) {
    if (head > 0) station += (points[head] - points[head - 1]).norm();
    stations.push_back(station);
    sum += std::clamp(distances[head], -options.clip, options.clip);
    squares += distances[head] * distances[head];
    while (station - stations[tail] > whole) sum -= std::clamp(distances[tail++], -options.clip, options.clip);
    const auto n = static_cast<double>(head - tail + 1);
    const double here = std::abs(sum / n) - 2.5 * noise / std::sqrt(n);
    if (station < 0.8 * whole || here <= d.largest) continue;
    d.largest = here;
    d.at = (head + tail) / 2;
  }
  d.rms = std::sqrt(squares / static_cast<double>(points.size()));
  return d;
}

class Fitter {
 public:
  Fitter(const Polyline& points, const std::vector<double>& sigma, const CurveFitOptions& options)
      : points_(points),
        options_(options),
        noise_(noise_of(points)),
        followed_(binned(points, sigma, options.tolerance / 3, bins_of(points, options))) {
    tolerance_ = std::hypot(options.tolerance, 2 * unseen_sigma(sigma));
    stations_.push_back(0);
    for (std::size_t i = 1; i < followed_.points.size(); ++i)
      stations_.push_back(stations_.back() + (followed_.points[i] - followed_.points[i - 1]).norm());
    ends_.start = options.start;
    ends_.end = options.end;
    ends_.closed = options.closed;
  }

  /// Index of the point nearest to the break where the bend changes most; 0 when there is none.
  std::size_t clearest_break() const {
    const auto fit = solved();
    if (!fit) return 0;
    const auto bend = [&](std::size_t i) { return fit->chain.parts[i].turn / fit->chain.parts[i].length; };
    std::size_t best = 0;
    for (std::size_t i = 1; i < fit->chain.parts.size(); ++i)
      if (best == 0 || std::abs(bend(i) - bend(i - 1)) > std::abs(bend(best) - bend(best - 1))) best = i;
    if (best == 0) return 0;
    const Vec2 at = fit->chain.nodes()[best].point;
    return static_cast<std::size_t>(
        std::min_element(points_.begin(), points_.end(),
                         [&](const Vec2& p, const Vec2& q) { return (p - at).norm() < (q - at).norm(); }) -
        points_.begin());
  }

  CurveFit run() {
    const auto best = solved();
    return best ? finished(*best) : as_polyline();
  }

 private:
  struct Tried {
    CurveChain chain;
    Departure departure;
  };

  std::optional<Tried> solved() const {
    std::optional<Tried> best;
    if (options_.like && !options_.like->parts.empty()) best = fitted(*options_.like);
    if (best && good(*best)) return best;
    double tolerance = tolerance_;
    for (int round = 0; round < 4 && !(best && good(*best)); ++round, tolerance *= 0.6) {
      auto tried = fitted(split_curve(followed_, split_options(tolerance)));
      if (tried) break_where_worst(*tried);
      if (tried && (!best || tried->departure.largest < best->departure.largest)) best = tried;
    }
    if (best && good(*best)) lighten(*best);
    return best;
  }

  bool good(const Tried& tried) const { return tried.departure.largest <= tolerance_; }

  /// What sigma says beyond the noise that is seen from point to point: it runs along with its neighbours, so no mean takes it off.
  double unseen_sigma(const std::vector<double>& sigma) const {
    const double middle = median(sigma);
    return std::sqrt(std::max(0.0, middle * middle - noise_ * noise_));
  }

  SplitOptions split_options(double tolerance) const {
    SplitOptions o;
    o.tolerance = tolerance;
    o.window = options_.window;
    o.clip = options_.clip;
    const double per_bin = static_cast<double>(points_.size()) / static_cast<double>(followed_.points.size());
    o.noise = noise_ / std::sqrt(per_bin);
    return o;
  }

  std::optional<Tried> fitted(const CurveChain& guess) const {
    const auto chain = fit_chain(guess, followed_, ends_);
    if (!chain) return std::nullopt;
    for (std::size_t i = 0; i < chain->parts.size() && chain->parts.size() > 1; ++i)
      if (chain->parts[i].length < least_part || too_tight(chain->parts[i]) || goes_round(*chain, i))
        return fitted(without(*chain, i));
    if (chain->parts.size() == 1 && too_tight(chain->parts[0])) return std::nullopt;
    return Tried{*chain, departure_of(distances_from(*chain, points_), points_, options_, noise_)};
  }

  /// A part this short is a corner in disguise, or what is left of a break a little off its place.
  static constexpr double least_part = 2.5;  // mm

  /// A part that bends sharply or all round; a closed run may go all round.
  bool too_tight(const CurveChain::Part& part) const {
    const double turn = std::abs(part.turn);
    if (turn < 0.05) return false;
    return part.length < options_.least_radius * turn || (turn > 3.5 && !options_.closed);
  }

  /// A part much longer than the points beside it runs round in a loop.
  bool goes_round(const CurveChain& chain, std::size_t i) const {
    const std::size_t from = chain.parts[i].from_point,
                      to = i + 1 < chain.parts.size() ? chain.parts[i + 1].from_point : stations_.size() - 1;
    const double beside =
        stations_[std::min(to, stations_.size() - 1)] - stations_[std::min(from, stations_.size() - 1)];
    return chain.parts[i].length > 1.3 * std::abs(beside) + 4 * options_.bin + 2;
  }

  static CurveChain without(CurveChain chain, std::size_t i) {
    const bool first = i == 0;
    chain.parts.erase(chain.parts.begin() + static_cast<std::ptrdiff_t>(i));
    if (first) chain.parts.front().from_point = 0;
    return chain;
  }

  /// More breaks, one at a time, each in the part that departs most, while that helps.
  void break_where_worst(Tried& tried) const {
    for (int added = 0; added < 4 && !good(tried); ++added) {
      const std::size_t bin = tried.departure.at * followed_.points.size() / points_.size();
      std::size_t part = 0;
      while (part + 1 < tried.chain.parts.size() && tried.chain.parts[part + 1].from_point <= bin) ++part;
      CurveChain guess = tried.chain;
      CurveChain::Part half = guess.parts[part];
      const std::size_t end =
          part + 1 < guess.parts.size() ? guess.parts[part + 1].from_point : followed_.points.size();
      if (end < half.from_point + 6) return;
      half.straight = false;
      half.length /= 2;
      half.turn /= 2;
      guess.parts[part] = half;
      half.from_point = (half.from_point + end) / 2;
      guess.parts.insert(guess.parts.begin() + static_cast<std::ptrdiff_t>(part) + 1, half);
      const auto next = fitted(guess);
      if (!next || next->departure.largest > 0.97 * tried.departure.largest) return;
      tried = *next;
    }
  }

  /// Parts taken away, the shortest first, while what is left stays within tolerance.
  void lighten(Tried& best) const {
    bool lighter = true;
    while (lighter && best.chain.parts.size() > 1) {
      lighter = false;
      std::vector<std::size_t> order;
      for (std::size_t i = 0; i + 1 < best.chain.parts.size(); ++i) order.push_back(i);
      const auto& parts = best.chain.parts;
      std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
        return std::min(parts[a].length, parts[a + 1].length) < std::min(parts[b].length, parts[b + 1].length);
      });
      for (const std::size_t i : order) {
        const std::size_t last = i + 2 < parts.size() ? parts[i + 2].from_point : followed_.points.size();
        if (last < parts[i].from_point + 3 ||
            !one_arc_does(followed_, parts[i].from_point, last - 1, split_options(1.5 * tolerance_)))
          continue;
        CurveChain guess = best.chain;
        guess.parts[i] = {false, parts[i].length + parts[i + 1].length, parts[i].turn + parts[i + 1].turn,
                          parts[i].from_point};
        guess.parts.erase(guess.parts.begin() + static_cast<std::ptrdiff_t>(i) + 1);
        const auto tried = fitted(guess);
        if (!tried || !good(*tried)) continue;
        best = *tried;
        lighter = true;
        break;
      }
    }
    straighten(best);
  }

  /// An arc that can as well be a line becomes one, where no line is beside it.
  void straighten(Tried& best) const {
    for (std::size_t i = 0; i < best.chain.parts.size(); ++i) {
      const auto straight = [&](std::size_t k) { return k < best.chain.parts.size() && best.chain.parts[k].straight; };
      if (straight(i) || straight(i + 1) || (i > 0 && straight(i - 1))) continue;
      CurveChain guess = best.chain;
      guess.parts[i].straight = true;
      guess.parts[i].turn = 0;
      const auto tried = fitted(guess);
      if (tried && good(*tried)) best = *tried;
    }
  }

  CurveFit finished(const Tried& tried) const {
    CurveFit fit{tried.chain.curve(), std::max(0.0, tried.departure.largest), tried.departure.rms, good(tried),
                 tried.chain};
    const CubicMerge merged = merge_arcs(fit.curve, followed_, [&](const std::vector<double>& d) {
      return departure_of(d, followed_.points, options_, split_options(1).noise).largest <= tolerance_;
    });
    if (merged.any) {
      fit.curve = merged.curve;
      const Departure d = departure_of(distances_to_curve(fit.curve, points_), points_, options_, noise_);
      fit.largest_departure = std::max(0.0, d.largest);
      fit.rms = d.rms;
    }
    return fit;
  }

  /// The points themselves, when no chain was found: never the case on outlines seen so far.
  CurveFit as_polyline() const {
    CurveFit fit;
    Polyline path = followed_.points;
    if (options_.start.point) path.front() = *options_.start.point;
    if (options_.end.point) path.back() = *options_.end.point;
    if (options_.closed) path.push_back(path.front());
    for (std::size_t i = 0; i + 1 < path.size(); ++i) {
      CurveSegment s;
      s.from = path[i];
      s.to = path[i + 1];
      fit.curve.push_back(s);
    }
    fit.largest_departure = departure_of(distances_to_curve(fit.curve, points_), points_, options_, noise_).largest;
    return fit;
  }

  const Polyline& points_;
  const CurveFitOptions& options_;
  double noise_;
  /// mm, in force
  double tolerance_ = 0;
  WeightedPoints followed_;
  /// mm along them
  std::vector<double> stations_;
  ChainFitOptions ends_;
};

}  // namespace

double noise_of(const Polyline& points) {
  if (points.size() < 5) return 0;
  std::vector<double> jerk;
  for (std::size_t i = 1; i + 2 < points.size(); ++i) {
    const Vec2 chord = points[i + 2] - points[i - 1];
    if (chord.norm() < 1e-9) continue;
    const Vec2 off = points[i + 2] - 3 * points[i + 1] + 3 * points[i] - points[i - 1];
    jerk.push_back(std::abs(chord.x() * off.y() - chord.y() * off.x()) / chord.norm());
  }
  return robust_sigma(std::move(jerk)) / std::sqrt(20);  // variance of white noise: 1 + 9 + 9 + 1
}

void check(const CurveFitOptions& o) {
  check_option("tolerance of the curve, mm,", o.tolerance, 1e-4, 100);
  check_option("window of the curve, mm,", o.window, 0.1, 1000);
  check_option("clip of distances, mm,", o.clip, 0.01, 1000);
  check_option("least radius of the curve, mm,", o.least_radius, 0, 1000);
  check_option("bin of the curve's points, mm,", o.bin, 0.01, 1000);
  check_option("most bins of the curve's points", static_cast<double>(o.most_bins), least_bins, 1e6);
}

CurveFit fit_curve(const Polyline& points, const std::vector<double>& sigma, const CurveFitOptions& options) {
  require_at_least("points of the run", points.size(), 3);
  require_equal("sigmas of the run", sigma.size(), points.size());
  require_above("length of the run, mm,", length(points, options.closed), 0);
  check(options);
  if (!options.closed) return Fitter(points, sigma, options).run();
  const auto first = static_cast<std::ptrdiff_t>(Fitter(points, sigma, options).clearest_break());
  Polyline turned = points;  // so that the run starts at a break of the shape, not within one of its parts
  std::vector<double> turned_sigma = sigma;
  std::rotate(turned.begin(), turned.begin() + first, turned.end());
  std::rotate(turned_sigma.begin(), turned_sigma.begin() + first, turned_sigma.end());
  return Fitter(turned, turned_sigma, options).run();
}

}  // namespace chalkfold::geometry
