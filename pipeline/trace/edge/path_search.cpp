// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/edge/path_search.h"

#include <algorithm>
#include <cmath>

#include "pipeline/common/require.h"

namespace chalkfold::trace {
namespace {

constexpr int reach = 3;             // steps a row: 0.75 mm across per mm along, more at a corner is rounded
constexpr float step_charge = 1.2f;  // nats a step squared; fitted, as boundary_path.cpp has it

/// Costs of a ring of rows, seen from any lap.
class Ring {
 public:
  Ring(const std::vector<float>& costs, int rows, int columns) : costs_(costs), rows_(rows), columns_(columns) {}
  int rows() const { return rows_; }
  int columns() const { return columns_; }
  const float* row(int r) const { return &costs_[at(r % rows_)]; }
  std::size_t at(int r) const { return static_cast<std::size_t>(r) * static_cast<std::size_t>(columns_); }

 private:
  const std::vector<float>& costs_;
  int rows_, columns_;
};

/// The best of a row's columns from which column k is reached: how many steps aside it lies, and what it costs with the charge.
struct Step {
  int aside = 0;
  float cost = 1e30f;
};

Step best_step(const float* from, int k, int columns) {
  Step best;
  for (int j = std::max(0, k - reach); j <= std::min(columns - 1, k + reach); ++j) {
    const int d = j - k;
    const float c = from[j] + step_charge * static_cast<float>(d * d);
    if (c < best.cost) best = {d, c};
  }
  return best;
}

/// One row on: cost of the cheapest way that ends in each column, the least of them zero.
void pass_row(const float* here, const float* cost, int columns, float* next, signed char* back) {
  float least = 1e30f;
  for (int k = 0; k < columns; ++k) {
    const Step step = best_step(here, k, columns);
    next[k] = step.cost + cost[k];
    least = std::min(least, next[k]);
    if (back) back[k] = static_cast<signed char>(step.aside);
  }
  for (int k = 0; k < columns; ++k) next[k] -= least;
}

/// Spread of a row's columns about the way taken.
double spread_of(const std::vector<float>& through, int taken, int beyond, double temperature) {
  const float least = *std::min_element(through.begin(), through.end());
  double sum = 0, square = 0;
  for (std::size_t k = 0; k < through.size(); ++k) {
    const double weight = std::exp(-static_cast<double>(through[k] - least) / temperature);
    const double off = static_cast<double>(k) - taken;
    sum += weight;
    if (std::abs(off) > beyond) square += weight * off * off;
  }
  return std::sqrt(square / sum);
}

}  // namespace

RingPath cheapest_ring(const std::vector<float>& costs, int rows, int columns, int beyond, double temperature) {
  require_at_least("rows of the ring", rows, 1);
  require_at_least("columns of the ring", columns, 1);
  const Ring ring(costs, rows, columns);
  const int total = 2 * rows;
  // The cheapest way to each column of the second lap, and from each of the first lap on.
  std::vector<float> forward(ring.at(rows)), backward(ring.at(rows)), here(static_cast<std::size_t>(columns), 0.0f),
      next(static_cast<std::size_t>(columns));
  std::vector<signed char> back(ring.at(total));
  for (int r = 0; r < total; ++r) {
    pass_row(here.data(), ring.row(r), columns, next.data(), &back[ring.at(r)]);
    here.swap(next);
    if (r >= rows)
      std::copy(here.begin(), here.end(), forward.begin() + static_cast<std::ptrdiff_t>(ring.at(r - rows)));
  }
  std::vector<int> path(static_cast<std::size_t>(total));
  int k = static_cast<int>(std::min_element(here.begin(), here.end()) - here.begin());
  for (int r = total - 1; r >= 0; --r) {
    path[static_cast<std::size_t>(r)] = k;
    k += back[ring.at(r) + static_cast<std::size_t>(k)];
  }
  std::fill(here.begin(), here.end(), 0.0f);
  for (int r = total - 1; r >= 0; --r) {
    pass_row(here.data(), ring.row(r), columns, next.data(), nullptr);
    here.swap(next);
    if (r < rows) std::copy(here.begin(), here.end(), backward.begin() + static_cast<std::ptrdiff_t>(ring.at(r)));
  }
  RingPath out{std::vector<int>(static_cast<std::size_t>(rows)), std::vector<double>(static_cast<std::size_t>(rows))};
  // The middle of the double lap is settled on both sides.
  for (int r = rows / 2; r < rows + rows / 2; ++r)
    out.columns[static_cast<std::size_t>(r % rows)] = path[static_cast<std::size_t>(r)];
  std::vector<float> through(static_cast<std::size_t>(columns));
  for (int r = 0; r < rows; ++r) {
    const auto i = static_cast<std::size_t>(r);
    for (std::size_t c = 0; c < through.size(); ++c)
      through[c] = forward[ring.at(r) + c] + backward[ring.at(r) + c] - ring.row(r)[c];
    out.spread[i] = spread_of(through, out.columns[i], beyond, temperature);
  }
  return out;
}

}  // namespace chalkfold::trace
