// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/local_fit.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

namespace chalkfold {
namespace {

struct Near {
  double offset, value, weight;
};

std::vector<Near> gather(const std::vector<LocalSample>& samples, double at, double window, double period) {
  std::vector<Near> near;
  near.reserve(64);
  const auto collect = [&](double shift) {
    auto it = std::lower_bound(samples.begin(), samples.end(), at - window - shift,
                               [](const LocalSample& s, double x) { return s.at < x; });
    for (; it != samples.end() && it->at + shift <= at + window; ++it) {
      if (it->weight <= 0) continue;
      const double u = std::abs(it->at + shift - at) / window;
      const double rest = 1 - u * u * u;
      if (rest > 0) near.push_back({it->at + shift - at, it->value, it->weight * rest * rest * rest});
    }
  };
  if (period > 0) collect(-period);
  collect(0);
  if (period > 0) collect(period);
  return near;
}

/// Normal equations of a quadratic in the offset.
struct Equations {
  Mat3 normal = Mat3::Zero();  ///< lower half
  Vec3 right = Vec3::Zero();
  void add(const Near& s, double weight) {
    const double square = s.offset * s.offset, wx = weight * s.offset, wxx = weight * square, wv = weight * s.value;
    normal(0, 0) += weight;
    normal(1, 0) += wx;
    normal(1, 1) += wx * s.offset;
    normal(2, 0) += wxx;
    normal(2, 1) += wxx * s.offset;
    normal(2, 2) += wxx * square;
    right += Vec3(wv, wv * s.offset, wv * square);
  }
};

/// Middle of the values; `scratch` is there so that thousands of fits do not each ask for memory round after round.
double middle_of(const std::vector<double>& values, std::vector<double>& scratch) {
  scratch = values;
  const auto middle = scratch.begin() + static_cast<std::ptrdiff_t>(scratch.size() / 2);
  std::nth_element(scratch.begin(), middle, scratch.end());
  return *middle;
}

}  // namespace

LocalValue local_fit(const std::vector<LocalSample>& samples, double at, double window, double period) {
  std::vector<Near> near = gather(samples, at, window, period);
  for (int widen = 0; widen < 5 && near.size() < 6; ++widen) near = gather(samples, at, window *= 1.6, period);
  LocalValue out;
  if (near.size() < 3) return out;
  // Start from the median, so that the first fit is not already pulled by what the later rounds should throw out.
  std::vector<double> residuals(near.size()), scratch;
  for (std::size_t i = 0; i < near.size(); ++i) residuals[i] = near[i].value;
  Vec3 fit(middle_of(residuals, scratch), 0, 0);
  const double window4 = std::pow(window, 4);
  constexpr double settled = 1e-3;  // mm: further rounds would move the value less than that
  for (int round = 0; round < 5; ++round) {
    Equations equations;
    if (round == 0) {
      for (const Near& s : near) equations.add(s, s.weight);
    } else {
      for (std::size_t i = 0; i < near.size(); ++i)
        residuals[i] = std::abs(near[i].value - fit.dot(Vec3(1, near[i].offset, near[i].offset * near[i].offset)));
      out.scatter = std::max(1.4826 * middle_of(residuals, scratch), 1e-3);
      for (std::size_t i = 0; i < near.size(); ++i) {
        const double u = residuals[i] / (4.5 * out.scatter);
        if (u < 1) equations.add(near[i], near[i].weight * ((1 - u * u) * (1 - u * u)));
      }
    }
    out.effective = equations.normal(0, 0);
    // A touch of ridge on the bend: it decides only where the samples do not, as when few are left beside a corner.
    equations.normal(2, 2) += 1e-3 * equations.normal(0, 0) * window4 * 0.02;
    const double before = fit[0];
    fit = equations.normal.ldlt().solve(equations.right);
    if (round > 1 && std::abs(fit[0] - before) < settled) break;
  }
  out.value = fit[0];
  out.slope = fit[1];
  return out;
}

}  // namespace chalkfold
