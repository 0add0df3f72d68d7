// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/edge/soft_edge.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "pipeline/geometry/closed_outline.h"
#include "pipeline/geometry/polygon.h"

namespace chalkfold::trace {
namespace {

// fitted: outline_accuracy.py, seeds 9001, 21001, 31001, 41001, and the photographs
constexpr double step_along = 3;     // mm: a fifth of what is averaged
constexpr double step_across = 1.5;  // mm: half of an edge's width
constexpr double thin_reach = 9;     // mm inward and outward that is looked at, of a thin panel; two thicknesses more
// mm in which a thin panel's edge, blurred and with its shadow, makes most of its change; one thickness more
constexpr double thin_edge = 3;
// of the whole change that falls into the best such width; a slow change makes a sixth (3 of 18 mm) to a third of it
constexpr double least_share = 0.4;
// of white, linear: less is grain, or table and panel alike, of which U tells; fitted
constexpr double least_change = 0.08;
constexpr double average = 16;       // mm along the outline over which grain is averaged out; fitted
constexpr double least_length = 25;  // mm; fitted
constexpr std::size_t fewest = 8;    // points of an outline

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

bool is_soft(const Colours& colours, double edge_width) {
  const auto width = static_cast<std::size_t>(std::lround(edge_width / step_across));
  float whole = 0, within = 0;
  for (std::size_t i = 0; i < colours.size(); ++i)
    for (std::size_t j = i + 1; j < colours.size(); ++j) {
      const float change = (colours[j] - colours[i]).norm();
      whole = std::max(whole, change);
      if (j - i <= width) within = std::max(within, change);
    }
  const double white = std::sqrt(3.0);
  return whole > least_change * white && within < least_share * whole;
}

}  // namespace

std::optional<SoftStretch> soft_stretch(const Polyline& outline, const BoundarySampler& sampler, double thickness) {
  const double reach_across = thin_reach + 2 * thickness, edge_width = thin_edge + thickness;
  if (outline.size() < fewest) return std::nullopt;
  const geometry::ClosedOutline closed(outline);
  const auto count = static_cast<std::size_t>(std::max<double>(fewest, std::ceil(closed.length() / step_along)));
  const double step = closed.length() / static_cast<double>(count);
  const std::vector<geometry::OutlinePlace> places = closed.places(count);
  std::vector<Colours> colours;
  colours.reserve(places.size());
  for (const geometry::OutlinePlace& place : places) colours.push_back(across(place, sampler, reach_across));
  const auto reach = static_cast<std::size_t>(std::lround(0.5 * average / step));
  SoftStretch best;
  std::size_t run = 0;
  for (std::size_t k = 0; k < 2 * count; ++k) {  // twice round: a stretch may pass the start
    const std::size_t i = k % count;
    if (colours[i].empty()) continue;
    run = is_soft(averaged(colours, i, std::min(reach, count / 2)), edge_width) ? std::min(run + 1, count) : 0;
    if (static_cast<double>(run) * step <= best.length) continue;
    best = {static_cast<double>(run) * step, places[(i + count - run / 2) % count].segment};
  }
  return best.length >= least_length ? std::optional(best) : std::nullopt;
}

}  // namespace chalkfold::trace
