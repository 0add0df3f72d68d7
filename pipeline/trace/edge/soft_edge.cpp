// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/edge/soft_edge.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "pipeline/geometry/closed_outline.h"
#include "pipeline/geometry/polygon.h"

namespace chalkfold::trace {
namespace {

constexpr double step_along = 3;     // mm
constexpr double step_across = 1.5;  // mm

using Colours = std::vector<Eigen::Vector3f>;  // across the outline, from inside outward; empty where paper lies

Colours across(const geometry::OutlinePlace& place, const BoundarySampler& sampler, double reach) {
  EdgeProfile profile = sampler.profile(place.point, place.outward, -reach, reach, step_across, 1, 0);
  const bool paper = std::any_of(profile.covered.begin(), profile.covered.end(), [](bool covered) { return covered; });
  return paper ? Colours{} : std::move(profile.linear);
}

/// Mean over neighbours along the outline.
Colours averaged(const std::vector<Colours>& all, std::size_t at, std::size_t reach) {
  Colours sum;
  float count = 0;
  for (std::size_t k = 0; k <= 2 * reach; ++k) {
    const Colours& one = all[(at + all.size() + k - reach) % all.size()];
    if (one.empty()) continue;
    if (sum.empty()) sum.assign(one.size(), Eigen::Vector3f::Zero());
    for (std::size_t i = 0; i < std::min(sum.size(), one.size()); ++i) sum[i] += one[i];
    count += 1;
  }
  for (Eigen::Vector3f& c : sum) c /= count;
  return sum;
}

bool is_soft(const Colours& colours, const SoftEdgeOptions& o) {
  const auto width = static_cast<std::size_t>(std::lround(o.edge_width / step_across));
  float whole = 0, within = 0;
  for (std::size_t i = 0; i < colours.size(); ++i)
    for (std::size_t j = i + 1; j < colours.size(); ++j) {
      const float change = (colours[j] - colours[i]).norm();
      whole = std::max(whole, change);
      if (j - i <= width) within = std::max(within, change);
    }
  const double white = std::sqrt(3.0);
  return whole > o.least_change * white && within < o.least_share * whole;
}

}  // namespace

std::optional<SoftStretch> soft_stretch(const Polyline& outline, const BoundarySampler& sampler, double thickness,
                                        SoftEdgeOptions options) {
  options.reach += 2 * thickness;
  options.edge_width += thickness;
  if (outline.size() < 8) return std::nullopt;
  const geometry::ClosedOutline closed(outline);
  const auto count = static_cast<std::size_t>(std::max(8.0, std::ceil(closed.length() / step_along)));
  const double step = closed.length() / static_cast<double>(count);
  const std::vector<geometry::OutlinePlace> places = closed.places(count);
  std::vector<Colours> colours;
  colours.reserve(places.size());
  for (const geometry::OutlinePlace& place : places) colours.push_back(across(place, sampler, options.reach));
  const auto reach = static_cast<std::size_t>(std::lround(0.5 * options.average / step));
  SoftStretch best;
  std::size_t run = 0;
  for (std::size_t k = 0; k < 2 * count; ++k) {  // twice round: a stretch may pass the start
    const std::size_t i = k % count;
    if (colours[i].empty()) continue;
    run = is_soft(averaged(colours, i, std::min(reach, count / 2)), options) ? std::min(run + 1, count) : 0;
    if (static_cast<double>(run) * step <= best.length) continue;
    best = {static_cast<double>(run) * step, places[(i + count - run / 2) % count].segment};
  }
  return best.length >= options.least_length ? std::optional(best) : std::nullopt;
}

}  // namespace chalkfold::trace
