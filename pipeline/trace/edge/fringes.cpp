// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/edge/fringes.h"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/robust.h"
#include "pipeline/trace/edge/coded_colour.h"

namespace chalkfold::trace {
namespace {

// fitted: outline_accuracy.py, seeds 9001, 21001, 31001, 41001, and the photographs
constexpr double arm_mm = 12;         // of boundary either side, over which the course is read; fitted
constexpr double most_mouth = 36;     // mm along the course: the widest tuft; fitted
constexpr double least_height = 1.0;  // mm off the course: twice what a followed boundary is good to
constexpr double most_height = 9;     // mm; what is more is another thing than a tuft; fitted
// mm, rms of the arms: a frayed edge's is less, a corner's and a step's more; fitted
constexpr double most_rough = 0.45;
constexpr double most_turn = 0.45;  // rad between the courses before and after: a corner (corner_turn) turns more
constexpr double full = 0.78;       // of the panel's colour over a tuft, above which it is solid, a tab; fitted
constexpr double foot = 0.7;        // mm: on the course, as well as the boundary follows it
constexpr double unfit = 1e9;       // mm

/// Stretch of boundary from point `first` over `count` steps, and the parabola through what lies before and after it, in the frame of its chord.
struct Tuft {
  int first = 0, count = 0;
  Vec2 origin, along, outward;
  /// mm outward of the chord at u mm along it: course.dot(1, u, u^2)
  Vec3 course = Vec3::Zero();
  /// mm, most that it stands off the course
  double height = 0;
  double course_at(double u) const { return course.dot(Vec3(1, u, u * u)); }
  Vec2 on_course(double u) const { return origin + u * along + course_at(u) * outward; }
};

class Boundary {
 public:
  explicit Boundary(const Polyline& points)
      : points_(points),
        n_(static_cast<int>(points.size())),
        spacing_(geometry::length(points, true) / std::max(1, n_)) {}
  const Vec2& operator[](int i) const { return points_[static_cast<std::size_t>(((i % n_) + n_) % n_)]; }
  int size() const { return n_; }
  int steps(double mm) const { return std::max(1, static_cast<int>(std::lround(mm / spacing_))); }

 private:
  const Polyline& points_;
  int n_;
  double spacing_;
};

/// How far point i stands out of the chord of `reach` points either side.
double standing_out(const Boundary& b, int i, int reach) {
  const Vec2 &a = b[i - reach], &c = b[i + reach];
  const Vec2 chord = (c - a).normalized();
  return Vec2(chord.y(), -chord.x()).dot(b[i] - a);
}

/// The parabola through both arms; a knot on one of them does not count. rms of what is left, mm.
double fit_course(const Boundary& b, Tuft& t, int arm) {
  constexpr double knot = 1.2;                   // mm: one notch or thread beside the tuft may lie on an arm; fitted
  constexpr std::size_t least_kept = 4, of = 5;  // points of the arms: a knot is a fifth of them at most
  std::vector<Vec2> at;
  for (int k = 0; k < arm; ++k) {
    for (const int i : {t.first - k, t.first + t.count + k}) {
      const Vec2 d = b[i] - t.origin;
      at.emplace_back(d.dot(t.along), d.dot(t.outward));
    }
  }
  double left = unfit;
  for (int round = 0; round < 2; ++round) {
    Mat3 normal = Mat3::Zero();
    Vec3 right = Vec3::Zero();
    for (const Vec2& p : at) {
      if (round > 0 && std::abs(p.y() - t.course_at(p.x())) > knot) continue;
      const Vec3 v(1, p.x(), p.x() * p.x());
      normal += v * v.transpose();
      right += p.y() * v;
    }
    t.course = normal.ldlt().solve(right);
    double square = 0;
    std::size_t count = 0;
    for (const Vec2& p : at) {
      const double r = p.y() - t.course_at(p.x());
      if (round > 0 && std::abs(r) > knot) continue;
      square += r * r;
      ++count;
    }
    if (of * count < least_kept * at.size()) return unfit;
    left = std::sqrt(square / static_cast<double>(count));
  }
  return left;
}

/// The tuft from `first` over `count` points, when the boundary goes on after it as it came and stands out between.
std::optional<Tuft> tuft_at(const Boundary& b, int first, int count) {
  constexpr double least_mouth = 2;  // mm: less has no chord to speak of
  Tuft t;
  t.first = first;
  t.count = count;
  t.origin = b[first];
  const Vec2 chord = b[first + count] - t.origin;
  const double run = chord.norm();
  if (run < least_mouth || run > most_mouth) return std::nullopt;
  t.along = chord / run;
  t.outward = Vec2(t.along.y(), -t.along.x());
  const int arm = b.steps(arm_mm);
  const Vec2 before = (b[first] - b[first - arm]).normalized(),
             after = (b[first + count + arm] - b[first + count]).normalized();
  if (before.dot(after) < std::cos(most_turn) || fit_course(b, t, arm) > most_rough) return std::nullopt;
  for (int i = 0; i <= count; ++i) {
    const Vec2 d = b[first + i] - t.origin;
    const double off = d.dot(t.outward) - t.course_at(d.dot(t.along));
    if ((i <= 1 || i >= count - 1) && std::abs(off) > foot) return std::nullopt;
    if (off < -foot) return std::nullopt;
    t.height = std::max(t.height, off);
  }
  if (t.height < least_height || t.height > most_height) return std::nullopt;
  return t;
}

/// The narrowest stretch about a place where the boundary stands out most.
std::optional<Tuft> tuft_about(const Boundary& b, int top) {
  constexpr std::array<double, 6> halves = {2.5, 4, 6, 9,
                                            13,  18};  // mm, each half as much again; two of the last make `most_mouth`
  std::optional<Tuft> best;
  for (const double before : halves) {
    for (const double after : halves) {
      if (best && b.steps(before) + b.steps(after) >= best->count) continue;
      if (const auto t = tuft_at(b, top - b.steps(before), b.steps(before) + b.steps(after))) best = t;
    }
  }
  return best;
}

/// Does the panel's colour stand clear of the table's? A stripe that does not is counted; of the table, threads that lie on it are not.
bool well_apart(const std::vector<Eigen::Vector3f>& inside, const Eigen::Vector3f& panel,
                const std::vector<Eigen::Vector3f>& outside, const Eigen::Vector3f& table) {
  // share of the panel's places that look more like the table: a chalk line, no more; fitted
  constexpr double most_unlike = 0.15;
  constexpr double most_spread = 0.3;  // of the table, robust standard deviation as a share of the step; fitted
  const Eigen::Vector3f axis = panel - table;
  if (axis.norm() < coded_noise) return false;
  const auto share_of = [&](const Eigen::Vector3f& c) {
    return static_cast<double>((c - table).dot(axis) / axis.squaredNorm());
  };
  const auto unlike = std::count_if(inside.begin(), inside.end(), [&](const auto& c) { return share_of(c) < 0.5; });
  std::vector<double> off;
  off.reserve(outside.size());
  for (const auto& c : outside) off.push_back(std::abs(share_of(c)));
  return static_cast<double>(unlike) < most_unlike * static_cast<double>(inside.size()) &&
         geometry::robust_sigma(std::move(off)) < most_spread;
}

/// Share of the panel's colour between course and boundary: 1 solid, less where the table shows through.
double fullness(const BoundarySampler& sampler, const Boundary& b, const Tuft& t) {
  using Colour = Eigen::Vector3f;
  const auto coded = [&](double u, double off) -> Colour {
    return coded_of(sampler.colour_at(t.on_course(u) + off * t.outward));
  };
  const double run = (b[t.first + t.count] - t.origin).norm();
  const auto middle = [](const std::vector<Colour>& colours) {
    Colour out = Colour::Zero();
    for (int c = 0; c < 3; ++c) {
      std::vector<double> v;
      v.reserve(colours.size());
      for (const Colour& colour : colours) v.push_back(colour[c]);
      out[c] = static_cast<float>(geometry::median(std::move(v)));
    }
    return out;
  };
  constexpr double beside = 4;  // mm before and after the tuft
  std::vector<Colour> inside, outside;
  for (double u = -beside; u <= run + beside; u += 1) {
    // mm off the edge: past its blur, and the table past the contact shadow
    for (const double off : {1.2, 2.0, 2.8}) inside.push_back(coded(u, -off));
    for (const double off : {2.0, 3.0, 4.0}) outside.push_back(coded(u, t.height + off));
  }
  const Colour panel = middle(inside), table = middle(outside), axis = panel - table;
  if (!well_apart(inside, panel, outside, table)) return 1;
  double sum = 0, count = 0;
  for (int i = 1; i < t.count; ++i) {
    const Vec2 d = b[t.first + i] - t.origin;
    const double u = d.dot(t.along), off = d.dot(t.outward) - t.course_at(u);
    if (off < foot) continue;
    for (const double share : {0.3, 0.5, 0.7}) {  // of its height: off its blurred edge and the panel's
      sum += std::clamp(static_cast<double>((coded(u, share * off) - table).dot(axis) / axis.squaredNorm()), 0.0, 1.0);
      ++count;
    }
  }
  return count > 0 ? sum / count : 1;
}

}  // namespace

Polyline without_fringes(const BoundarySampler& sampler, const Polyline& followed) {
  const Boundary b(followed);
  const int reach = b.steps(arm_mm), n = b.size();
  Polyline out = followed;
  std::vector<double> stands(static_cast<std::size_t>(n));
  for (int i = 0; i < n; ++i) stands[static_cast<std::size_t>(i)] = standing_out(b, i, reach);
  const auto at = [&](int i) { return stands[static_cast<std::size_t>(((i % n) + n) % n)]; };
  for (int i = 0; i < n; ++i) {
    if (at(i) < least_height) continue;
    bool top = true;
    for (int d = 1; d <= reach / 3 && top; ++d) top = at(i) > at(i - d) && at(i) >= at(i + d);
    if (!top) continue;
    const auto tuft = tuft_about(b, i);
    if (!tuft || fullness(sampler, b, *tuft) > full) continue;
    for (int k = 1; k < tuft->count; ++k) {
      Vec2& p = out[static_cast<std::size_t>(((tuft->first + k) % n + n) % n)];
      p = tuft->on_course((p - tuft->origin).dot(tuft->along));
    }
  }
  return out;
}

}  // namespace chalkfold::trace
