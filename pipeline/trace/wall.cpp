// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/wall.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace chalkfold {
namespace {

constexpr double least_wall_blurs = 0.5;  // narrower, it moves the edge by less than it can be told

/// How much a stretch says of a wall that faces another way: half at some 50 degrees.
double alike(const Vec2& a, const Vec2& b) { return std::exp(2 * (a.dot(b) - 1)); }

/// A colour to start from: shares of the panel's colour and of the table's.
struct Mixture {
  double panel, table;
};
constexpr std::array<Mixture, 8> trials = {
    {{1, 0}, {0.7, 0}, {0.4, 0}, {0.1, 0}, {0, 1}, {0, 0.6}, {0.5, 0.5}, {1.4, 0}}};

/// One stretch under one wall colour: least cost and where.
struct Tried {
  double cost = 1e9, edge = 0;
};

Tried try_wall(const LightWitness& w, const std::optional<Vec3>& colour) {
  EdgeModel model = w.model;
  model.wall_colour = colour;
  const double step = std::max(0.08, 0.4 * model.blur),
               reach = model.wall + 0.3;  // mm: the edge found first is off by a wall's width at most
  Tried best;
  for (double start = -reach; start <= reach; start += 2 * step) {
    const EdgeMinimum m = refine_edge(w.profile, model, start, step, 2);
    if (m.cost < best.cost) best = {m.cost, m.edge};
  }
  const EdgeMinimum m = refine_edge(w.profile, model, best.edge, 0.5 * step, 3);
  return {m.cost, m.edge};
}

struct Stretch {
  const LightWitness* witness;
  Tried plain;
  std::array<Tried, trials.size()> tried;
  std::array<Vec3, trials.size()> colours;
  double least = 1e9;
};

Stretch try_all(const LightWitness& w) {
  Stretch s{&w, try_wall(w, {}), {}, {}, 1e9};
  const EdgeColours own = edge_colours(w.profile, w.model, s.plain.edge);
  s.least = s.plain.cost;
  for (std::size_t k = 0; k < trials.size(); ++k) {
    s.colours[k] = trials[k].panel * own.panel + trials[k].table * own.table;
    s.tried[k] = try_wall(w, s.colours[k]);
    s.least = std::min(s.least, s.tried[k].cost);
  }
  return s;
}

double relative(double cost, const Stretch& s) {
  constexpr double floor = 1e-3, most = 3;  // as learn_light
  return std::min((cost + floor) / (s.least + floor), most);
}

/// Colour of the walls that face as stretch j does, and its weight; nothing when the panel's own does as well.
std::optional<WallColours::Seen> settle(const std::vector<Stretch>& stretches, std::size_t j) {
  constexpr double worth = 0.985;  // some hundred samples a stretch: two hundredths less is no luck
  constexpr double least_alike = 0.3;
  std::array<double, trials.size()> costs{};
  double plain = 0;
  for (const Stretch& s : stretches) {
    // Closer kin than for the colour itself: a side that lies in the panel's own shadow knows nothing of one in the lamp's light, but has the most to lose.
    const double a = std::pow(alike(s.witness->outward, stretches[j].witness->outward), 3);
    plain += a * relative(s.plain.cost, s);
    for (std::size_t k = 0; k < trials.size(); ++k) costs[k] += a * relative(s.tried[k].cost, s);
  }
  const auto best = static_cast<std::size_t>(std::min_element(costs.begin(), costs.end()) - costs.begin());
  // A mixture is but a start: what comes near is settled first, and judged by the colour found.
  constexpr double hopeless = 1.03;
  const bool clear = costs[best] <= worth * plain;
  if (costs[best] > hopeless * plain) return std::nullopt;
  std::vector<double> edges;
  for (const Stretch& s : stretches) edges.push_back(s.tried[best].edge);
  Vec3 colour = stretches[j].colours[best];
  double weight = 0, settled_cost = 0, plain_cost = 0;
  for (int round = 0; round < 2; ++round) {
    Vec3 sum = Vec3::Zero();
    weight = 0;
    for (std::size_t i = 0; i < stretches.size(); ++i) {
      const LightWitness& w = *stretches[i].witness;
      const double a = alike(w.outward, stretches[j].witness->outward);
      if (a < least_alike) continue;
      EdgeModel model = w.model;
      model.wall_colour = colour;
      if (round > 0) {
        const EdgeMinimum m = refine_edge(w.profile, model, edges[i], 0.1, 3);
        edges[i] = m.edge;
        settled_cost += a * a * a * relative(m.cost, stretches[i]);
        plain_cost += a * a * a * relative(stretches[i].plain.cost, stretches[i]);
      }
      const EdgeColours c = edge_colours(w.profile, model, edges[i]);
      sum += a * c.wall_sum;
      weight += a * c.wall_weight;
    }
    if (weight <= 0) return std::nullopt;
    colour = sum / weight;
  }
  if (!clear && settled_cost > worth * plain_cost) return std::nullopt;
  return WallColours::Seen{stretches[j].witness->outward, colour, weight};
}

}  // namespace

std::optional<Vec3> WallColours::facing(const Vec2& outward) const {
  constexpr double least_alike = 0.3;
  Vec3 sum = Vec3::Zero();
  double weight = 0, nearest = 0;
  for (const Seen& s : seen) {
    const double a = std::pow(alike(s.outward, outward), 4);
    sum += a * s.colour;
    weight += a;
    nearest = std::max(nearest, alike(s.outward, outward));
  }
  if (nearest < least_alike) return std::nullopt;
  return Vec3(sum / weight);
}

WallColours learn_walls(const std::vector<LightWitness>& witnesses) {
  std::vector<Stretch> stretches;
  for (const LightWitness& w : witnesses) {
    if (w.model.wall > least_wall_blurs * w.model.blur) stretches.push_back(try_all(w));
  }
  WallColours out;
  for (std::size_t j = 0; j < stretches.size(); ++j) {
    if (auto seen = settle(stretches, j)) out.seen.push_back(*seen);
  }
  return out;
}

}  // namespace chalkfold
