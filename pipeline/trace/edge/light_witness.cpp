// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/edge/light_witness.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace chalkfold::trace {
namespace {

// fitted: outline_accuracy.py, seeds 9001, 21001, 31001, 41001, and the photographs
constexpr int stride = 40, reach = 15;  // points from stretch to stretch, and averaged either side; fitted
constexpr double step = 0.2;            // mm, first of a search for an edge
constexpr int rounds = 5;               // of halving it, at most: to a hundredth of a millimetre

/// Mean of the profiles in a window, each shifted so that the edges found first lie on zero.
EdgeProfile pooled_profile(const std::vector<EdgeProfile>& profiles, const std::vector<double>& first_edge,
                           int middle) {
  const int n = static_cast<int>(profiles.size());
  EdgeProfile mean = profiles[static_cast<std::size_t>(middle)];
  std::vector<double> count(mean.linear.size(), 0);
  for (auto& v : mean.linear) v.setZero();
  for (float& w : mean.weight) w = 0;
  for (int d = -reach; d <= reach; ++d) {
    const int j = middle + d;
    if (j < 0 || j >= n) continue;
    const EdgeProfile& p = profiles[static_cast<std::size_t>(j)];
    for (std::size_t i = 0; i < mean.linear.size(); ++i) {
      const double at = (mean.at(i) + first_edge[static_cast<std::size_t>(j)] - p.first) / p.step;
      if (at < 0 || at >= static_cast<double>(p.linear.size() - 1)) continue;
      const auto k = static_cast<std::size_t>(at);
      if (p.weight[k] <= 0 || p.weight[k + 1] <= 0) continue;
      const auto t = static_cast<float>(at - static_cast<double>(k));
      mean.linear[i] += (1 - t) * p.linear[k] + t * p.linear[k + 1];
      mean.weight[i] += (1 - t) * p.weight[k] + t * p.weight[k + 1];
      count[i] += 1;
    }
  }
  EdgeProfile out;
  out.step = mean.step;
  bool started = false;
  for (std::size_t i = 0; i < mean.linear.size(); ++i) {
    if (count[i] < reach) continue;
    if (!started) out.first = mean.at(i);
    started = true;
    out.linear.emplace_back(mean.linear[i] / static_cast<float>(count[i]));
    out.weight.push_back(mean.weight[i] / static_cast<float>(count[i]));
  }
  return out;
}

/// Doubt that a wall is seen at all, from how much better the stretch is explained with it than without.
double rival_sigma(const EdgeProfile& profile, const EdgeModel& model, const EdgeMinimum& full) {
  constexpr double telling = 0.35;  // excess of cost by which a rival loses to one in e; fitted
  if (!shows_wall(model)) return 0;
  EdgeModel bare = model;
  bare.wall = 0;
  bare.wall_colour.reset();
  EdgeMinimum rival{0, std::numeric_limits<double>::max(), 0};
  for (const double shift : {0.5 * model.wall, model.wall}) {
    const EdgeMinimum m = refine_edge(profile, bare, full.edge + shift, step, rounds - 1);
    if (m.cost < rival.cost) rival = m;
  }
  const double excess = (rival.cost + cost_floor) / (full.cost + cost_floor) - 1;
  const double odds = std::exp(-std::max(0.0, excess) / telling);
  return std::min(std::abs(rival.edge - full.edge), model.wall) * std::sqrt(odds / (1 + odds));
}

}  // namespace

EdgeModel bare_model(const BoundarySampler& sampler, const Vec2& at, const Vec2& normal, const OutlineFitOptions& o) {
  EdgeModel m;
  constexpr double thinnest = 0.1;  // mm, paper: a shadow needs something to throw it
  m.thickness = std::max(o.thickness, thinnest);
  m.blur = o.blur_px * sampler.mm_per_px(at, normal);
  m.wall = sampler.wall_shown(at, normal);
  return m;
}

void hear_witnesses(const OutlineRun& run, const std::vector<EdgeProfile>& profiles, const BoundarySampler& sampler,
                    const OutlineFitOptions& o, std::vector<PlacedWitness>& witnesses) {
  const int n = static_cast<int>(run.base.size());
  constexpr int margin = 6;             // points more either side, for the edges' course
  constexpr double window = 8;          // mm of that course either side; fitted
  constexpr std::size_t few_edges = 8;  // of the 21 looked for
  for (int start = 0; start < n; start += stride) {
    const int middle = std::min(start + stride / 2, n - 1);
    std::vector<LocalSample> first;
    std::vector<double> first_edge(run.base.size(), 0);
    for (int i = std::max(0, middle - reach - margin); i <= std::min(n - 1, middle + reach + margin); i += 2) {
      const auto k = static_cast<std::size_t>(i);
      const EdgeFit fit =
          fit_edge(profiles[k], bare_model(sampler, run.base[k], run.normals[k], o), -edge_search, edge_search);
      if (fit.ok) first.push_back({run.along[k], fit.edge, 1});
    }
    if (first.size() < few_edges) continue;
    for (int i = std::max(0, middle - reach); i <= std::min(n - 1, middle + reach); ++i) {
      first_edge[static_cast<std::size_t>(i)] =
          local_fit(first, run.along[static_cast<std::size_t>(i)], window, 0).value;
    }
    const auto m = static_cast<std::size_t>(middle);
    LightWitness w;
    w.profile = pooled_profile(profiles, first_edge, middle);
    w.outward = run.normals[m];
    w.model = bare_model(sampler, run.base[m], run.normals[m], o);
    witnesses.push_back({run.along[m], std::move(w)});
  }
}

std::vector<Correction> corrections(const std::vector<PlacedWitness>& witnesses, const TableLight& light,
                                    const WallColours& walls) {
  constexpr double most_moved = 1.0;  // mm: more is another edge than this one; fitted
  std::vector<Correction> out;
  for (const PlacedWitness& w : witnesses) {
    const EdgeMinimum bare = refine_edge(w.heard.profile, w.heard.model, 0, step, rounds);
    EdgeModel model = w.heard.model;
    set_shadow(model, light, w.heard.outward);
    model.wall_colour = walls.facing(w.heard.outward);
    const EdgeMinimum full = refine_edge(w.heard.profile, model, bare.edge, step, rounds);
    out.push_back(
        {w.along, std::min(std::abs(full.edge - bare.edge), most_moved), rival_sigma(w.heard.profile, model, full)});
  }
  return out;
}

}  // namespace chalkfold::trace
