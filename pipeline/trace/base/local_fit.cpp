// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/base/local_fit.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "pipeline/geometry/robust.h"

namespace chalkfold::trace {
namespace {

/// Samples in reach, in arrays of their own: the fits go through them again and again.
struct Near {
  /// square of the offset
  std::vector<double> offset, square, value, weight;

  explicit Near(std::size_t expected) {
    for (auto* values : {&offset, &square, &value, &weight}) values->reserve(expected);
  }
  std::size_t size() const { return offset.size(); }
  void clear() {
    for (auto* values : {&offset, &square, &value, &weight}) values->clear();
  }
  void add(double at, double its_value, double its_weight) {
    offset.push_back(at);
    square.push_back(at * at);
    value.push_back(its_value);
    weight.push_back(its_weight);
  }
};

void gather(const std::vector<LocalSample>& samples, double at, double window, double period, Near& near) {
  near.clear();
  const auto collect = [&](double shift) {
    auto it = std::lower_bound(samples.begin(), samples.end(), at - window - shift,
                               [](const LocalSample& s, double x) { return s.at < x; });
    for (; it != samples.end() && it->at + shift <= at + window; ++it) {
      if (it->weight <= 0) continue;
      const double u = std::abs(it->at + shift - at) / window;
      const double rest = 1 - u * u * u;
      if (rest > 0) near.add(it->at + shift - at, it->value, it->weight * rest * rest * rest);
    }
  };
  if (period > 0) collect(-period);
  collect(0);
  if (period > 0) collect(period);
}

/// Normal equations of a quadratic in the offset.
struct Equations {
  /// lower half
  Mat3 normal = Mat3::Zero();
  Vec3 right = Vec3::Zero();

  Equations(const Near& near, const std::vector<double>& weights) {
    for (std::size_t i = 0; i < near.size(); ++i) {
      const double weight = weights[i], offset = near.offset[i], square = near.square[i];
      const double wx = weight * offset, wxx = weight * square, wv = weight * near.value[i];
      normal(0, 0) += weight;
      normal(1, 0) += wx;
      normal(1, 1) += wx * offset;
      normal(2, 0) += wxx;
      normal(2, 1) += wxx * offset;
      normal(2, 2) += wxx * square;
      right += Vec3(wv, wv * offset, wv * square);
    }
  }
};

/// How far each value lies from a quadratic.
void take_residuals(const Near& near, const Vec3& fit, std::vector<double>& residuals) {
  const double level = fit[0], slope = fit[1], bend = fit[2];
  for (std::size_t i = 0; i < near.size(); ++i)
    residuals[i] = std::abs(near.value[i] - (level + slope * near.offset[i] + bend * near.square[i]));
}

/// Bisquare weights; those that lie far off get none.
void take_weights(const Near& near, const std::vector<double>& residuals, double farthest,
                  std::vector<double>& weights) {
  for (std::size_t i = 0; i < near.size(); ++i) {
    const double u = residuals[i] / farthest, rest = u < 1 ? 1 - u * u : 0;
    weights[i] = near.weight[i] * (rest * rest);
  }
}

/// Middle of the values; `scratch` is there so that thousands of fits do not each ask for memory round after round.
double middle_of(const std::vector<double>& values, std::vector<double>& scratch) {
  scratch = values;
  return geometry::value_of_rank(scratch, scratch.size() / 2);
}

}  // namespace

LocalValue local_fit(const std::vector<LocalSample>& samples, double at, double window, double period) {
  constexpr std::size_t parameters = 3;  // of a quadratic
  constexpr int most_widened = 5;        // times: ten windows then
  constexpr double widened = 1.6;        // times the window; 1.6^5 is 10
  constexpr double cut_off = 4.5;        // robust standard deviations: the bisquare's 4.685 for 95 % efficiency, nearly
  constexpr double least_scatter = 1e-3;  // mm: what lies exactly on the fit is not thrown out by rounding
  constexpr double settled = 1e-3;        // mm: further rounds would move the value less than that
  constexpr int rounds = 5;               // a start and the four of reweighting
  Near near(64);
  gather(samples, at, window, period, near);
  for (int widen = 0; widen < most_widened && near.size() < 2 * parameters; ++widen)
    gather(samples, at, window *= widened, period, near);
  LocalValue out;
  if (near.size() < parameters) return out;
  // Start from the median, so that the first fit is not already pulled by what the later rounds should throw out.
  std::vector<double> residuals(near.size()), weights = near.weight, scratch;
  Vec3 fit(middle_of(near.value, scratch), 0, 0);
  const double window4 = std::pow(window, 4);
  for (int round = 0; round < rounds; ++round) {
    if (round > 0) {
      take_residuals(near, fit, residuals);
      out.scatter = std::max(geometry::sigma_from_median_size * middle_of(residuals, scratch), least_scatter);
      take_weights(near, residuals, cut_off * out.scatter, weights);
    }
    Equations equations(near, weights);
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

}  // namespace chalkfold::trace
