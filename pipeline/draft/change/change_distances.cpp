// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>

#include "pipeline/draft/change/change_steps.h"
#include "pipeline/geometry/smallest_rectangle.h"

namespace chalkfold::draft {

namespace {
constexpr double degree = std::numbers::pi / 180;
constexpr double mark_reach = 8;        // mm, between marks that are the same once the reference is mapped
constexpr double least_distance = 100;  // mm; shorter ones tell little of a percentage
constexpr std::size_t most_distances = 12;
constexpr double bench_share = 0.12;  // that a distance may differ from the bench marks' own and still be one
constexpr double drawn_sigma = 0.5;   // mm, of a distance drawn by hand with a rule; common practice, no source
constexpr double point_sigma = 0.5;   // mm, of a place that the user read off a picture

struct Pair {
  BenchMark measured, reference;
};

std::string what_of(const BenchMark& a, const BenchMark& b) {
  const bool holes = a.kind == BenchMark::Kind::hole && b.kind == BenchMark::Kind::hole;
  const bool crosses = a.kind == BenchMark::Kind::cross && b.kind == BenchMark::Kind::cross;
  return holes ? "holes" : crosses ? "crosses" : "hole and cross";
}

/// Share by which all lengths of an outline may be off together, 1 sigma: its two ends moved apart.
double scale_sigma(const ComparedShape& shape) {
  return 2 * median_shared_sigma(shape.outline) / geometry::smallest_rectangle(shape.outline.points).length;
}

MarkDistance distance(const std::string& what, const Vec2& from, const Vec2& to, double before, double sigma,
                      const Vec2& direction) {
  MarkDistance d;
  d.what = what;
  d.from = from;
  d.to = to;
  d.length.before = before;
  d.length.after = (to - from).norm();
  d.length.change = {percent_change(before, d.length.after), 100 * 2 * sigma / before};
  d.grain_deg = angle_between_lines(to - from, direction) / degree;
  return d;
}

/// Marks that both shapes have.
std::vector<Pair> common_marks(const DimensionalChange& change, const ComparedShape& reference,
                               const ComparedShape& measured) {
  std::vector<Pair> pairs;
  std::vector<BenchMark> open = measured.marks;
  for (const BenchMark& mark : reference.marks) {
    const Vec2 there = change.affine * mark.at;
    const auto nearest = std::min_element(open.begin(), open.end(), [&](const BenchMark& a, const BenchMark& b) {
      return (a.at - there).squaredNorm() < (b.at - there).squaredNorm();
    });
    if (nearest == open.end() || nearest->kind != mark.kind || (nearest->at - there).norm() > mark_reach) continue;
    pairs.push_back({*nearest, mark});
    open.erase(nearest);
  }
  return pairs;
}

void longest_first(std::vector<MarkDistance>& distances) {
  std::stable_sort(distances.begin(), distances.end(),
                   [](const MarkDistance& a, const MarkDistance& b) { return a.length.after > b.length.after; });
  if (distances.size() > most_distances) distances.resize(most_distances);
}
}  // namespace

std::vector<MarkDistance> mark_distances(const DimensionalChange& change, const ComparedShape* reference,
                                         const ComparedShape& measured, const ChangeOptions& options) {
  std::vector<MarkDistance> out;
  const double scale = scale_sigma(measured);
  const double reference_scale = reference ? scale_sigma(*reference) : 0;
  const std::vector<Pair> common = reference ? common_marks(change, *reference, measured) : std::vector<Pair>{};
  for (std::size_t i = 0; i < common.size(); ++i) {
    for (std::size_t k = i + 1; k < common.size(); ++k) {
      const double before = (common[k].reference.at - common[i].reference.at).norm();
      if (before < least_distance) continue;
      const double sigma = std::hypot(std::hypot(common[i].measured.sigma, common[k].measured.sigma),
                                      std::hypot(common[i].reference.sigma, common[k].reference.sigma),
                                      before * std::hypot(scale, reference_scale));
      out.push_back(distance(what_of(common[i].measured, common[k].measured), common[i].measured.at,
                             common[k].measured.at, before, sigma, change.direction));
    }
  }
  if (out.empty() && options.bench) {
    const std::vector<BenchMark>& marks = measured.marks;
    for (std::size_t i = 0; i < marks.size(); ++i) {
      for (std::size_t k = i + 1; k < marks.size(); ++k) {
        const double after = (marks[k].at - marks[i].at).norm();
        if (std::abs(after - *options.bench) > bench_share * *options.bench) continue;
        const double sigma = std::hypot(std::hypot(marks[i].sigma, marks[k].sigma), drawn_sigma, after * scale);
        out.push_back(
            distance(what_of(marks[i], marks[k]), marks[i].at, marks[k].at, *options.bench, sigma, change.direction));
      }
    }
  }
  longest_first(out);
  for (const GivenDistance& given : options.given) {
    const double sigma = std::hypot(std::sqrt(2.0) * point_sigma, drawn_sigma, given.before * scale);
    out.push_back(distance("given", given.from, given.to, given.before, sigma, change.direction));
  }
  return out;
}

}  // namespace chalkfold::draft
