// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/local_fit.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "pipeline/geometry/median.h"

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

}  // namespace

LocalValue local_fit(const std::vector<LocalSample>& samples, double at, double window, double period) {
  std::vector<Near> near = gather(samples, at, window, period);
  for (int widen = 0; widen < 5 && near.size() < 6; ++widen) near = gather(samples, at, window *= 1.6, period);
  LocalValue out;
  if (near.size() < 3) return out;
  // Start from the median, so that the first fit is not already pulled by what the later rounds should throw out.
  std::vector<double> values;
  for (const Near& s : near) values.push_back(s.value);
  std::vector<double> robust(near.size(), 1.0);
  Vec3 fit(median(values), 0, 0);
  constexpr double settled = 1e-3;  // mm: further rounds would move the value less than that
  std::vector<double> residuals;
  for (int round = 0; round < 5; ++round) {
    if (round > 0) {
      residuals.clear();
      for (const Near& s : near)
        residuals.push_back(std::abs(s.value - fit.dot(Vec3(1, s.offset, s.offset * s.offset))));
      out.scatter = std::max(1.4826 * median(residuals), 1e-3);
      for (std::size_t i = 0; i < near.size(); ++i) {
        const double u = residuals[i] / (4.5 * out.scatter);
        robust[i] = u < 1 ? (1 - u * u) * (1 - u * u) : 0;
      }
    }
    Mat3 normal = Mat3::Zero();
    Vec3 right = Vec3::Zero();
    out.effective = 0;
    for (std::size_t i = 0; i < near.size(); ++i) {
      const Vec3 b(1, near[i].offset, near[i].offset * near[i].offset);
      const double w = near[i].weight * robust[i];
      normal += w * b * b.transpose();
      right += w * near[i].value * b;
      out.effective += w;
    }
    // A touch of ridge on the bend: it decides only where the samples do not, as when few are left beside a corner.
    normal(2, 2) += 1e-3 * normal(0, 0) * std::pow(window, 4) * 0.02;
    const double before = fit[0];
    fit = normal.ldlt().solve(right);
    if (round > 1 && std::abs(fit[0] - before) < settled) break;
  }
  out.value = fit[0];
  out.slope = fit[1];
  return out;
}

}  // namespace chalkfold
