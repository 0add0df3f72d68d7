// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/edge/wall.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace chalkfold::trace {
namespace {

// fitted: outline_accuracy.py, seeds 9001, 21001, 31001, 41001, and the photographs
constexpr double none = 1e9;  // of a cost

/// A colour to start from: shares of the panel's colour and of the table's, from dark to light; the best is settled afterwards.
struct Mixture {
  double panel, table;
};
constexpr std::array<Mixture, 8> trials = {
    {{1, 0}, {0.7, 0}, {0.4, 0}, {0.1, 0}, {0, 1}, {0, 0.6}, {0.5, 0.5}, {1.4, 0}}};

/// One stretch under one wall colour: least cost and where.
struct Tried {
  double cost = none, edge = 0;
};

Tried try_wall(const LightWitness& w, const std::optional<Vec3>& colour) {
  EdgeModel model = w.model;
  model.wall_colour = colour;
  constexpr double least_step = 0.08, step_blurs = 0.4;  // mm, blurs: the cost is smooth over a blur width
  constexpr double beyond = 0.3;  // mm: the edge found first is off by a wall's width and that at most; fitted
  constexpr int rounds = 3;       // of halving the step: to a hundredth or two
  const double step = std::max(least_step, step_blurs * model.blur), reach = model.wall + beyond;
  Tried best;
  for (double start = -reach; start <= reach; start += 2 * step) {
    const EdgeMinimum m = refine_edge(w.profile, model, start, step, 2);
    if (m.cost < best.cost) best = {m.cost, m.edge};
  }
  const EdgeMinimum m = refine_edge(w.profile, model, best.edge, 0.5 * step, rounds);
  return {m.cost, m.edge};
}

/// A stretch that shows a wall: how much light falls on it, and how the stretch is explained with a wall colour of its own.
struct Stretch {
  const LightWitness* witness;
  double lit = 1;
  Tried own;
  EdgeColours colours;
};

/// One material for all stretches: mean cost relative to colours of their own, and the edges under it.
struct Shared {
  double cost = none;
  Vec3 material = Vec3::Zero();
  std::vector<double> edges;
};

double relative(double cost, const Stretch& s) {
  return std::min((cost + cost_floor) / (s.own.cost + cost_floor), most_relative_cost);
}

Shared share_from(const std::vector<Stretch>& stretches, const Vec3& material) {
  Shared out{0, material, {}};
  for (const Stretch& s : stretches) {
    const Tried tried = try_wall(*s.witness, Vec3(s.lit * material));
    out.cost += relative(tried.cost, s) / static_cast<double>(stretches.size());
    out.edges.push_back(tried.edge);
  }
  return out;
}

/// The best of the mixtures of panel and table.
Shared share_mixture(const std::vector<Stretch>& stretches) {
  Vec3 panel = Vec3::Zero(), table = Vec3::Zero();
  double lit = 0;
  for (const Stretch& s : stretches) {
    panel += s.colours.panel;
    table += s.colours.table;
    lit += s.lit;
  }
  Shared best;
  for (const Mixture& m : trials) {
    Shared tried = share_from(stretches, (m.panel * panel + m.table * table) / lit);
    if (tried.cost < best.cost) best = std::move(tried);
  }
  return best;
}

/// The material that the profiles ask for with their edges held, and the edges under that; no better than before when there is nothing to ask.
Shared settle(const std::vector<Stretch>& stretches, const Shared& before) {
  Vec3 sum = Vec3::Zero();
  double weight = 0;
  for (std::size_t i = 0; i < stretches.size(); ++i) {
    const Stretch& s = stretches[i];
    EdgeModel model = s.witness->model;
    model.wall_colour = s.lit * before.material;
    const EdgeColours c = edge_colours(s.witness->profile, model, before.edges[i]);
    const double trust = s.lit / (s.own.cost + cost_floor);
    sum += trust * c.wall_sum;
    weight += trust * s.lit * c.wall_weight;
  }
  constexpr double step = 0.1;  // mm, from an edge that is nearly right
  constexpr int rounds = 3;     // of halving it: to a hundredth
  if (weight <= 0) return before;
  Shared out{0, sum / weight, before.edges};
  for (std::size_t i = 0; i < stretches.size(); ++i) {
    EdgeModel model = stretches[i].witness->model;
    model.wall_colour = stretches[i].lit * out.material;
    const EdgeMinimum m = refine_edge(stretches[i].witness->profile, model, out.edges[i], step, rounds);
    out.edges[i] = m.edge;
    out.cost += relative(m.cost, stretches[i]) / static_cast<double>(stretches.size());
  }
  return out;
}

}  // namespace

bool shows_wall(const EdgeModel& model) {
  constexpr double least_blurs = 0.5;  // narrower, it moves the edge by less than it can be told; fitted
  return model.wall > least_blurs * model.blur;
}

double light_on_wall(const TableLight& light, const Vec2& outward) {
  // of the room's light: one half (the hemisphere above the table), and a little back from the table
  constexpr double from_round = 0.6;
  return light.lamp * std::max(0.0, -light.slant.dot(outward)) + from_round * (1 - light.lamp);
}

std::optional<Vec3> WallColours::facing(const Vec2& outward) const {
  if (!material_) return std::nullopt;
  return Vec3(light_on_wall(light_, outward) * *material_);
}

WallColours learn_walls(const std::vector<LightWitness>& witnesses, const TableLight& light) {
  std::vector<Stretch> stretches;
  for (const LightWitness& w : witnesses) {
    if (!shows_wall(w.model)) continue;
    const Tried own = try_wall(w, {});
    stretches.push_back({&w, light_on_wall(light, w.outward), own, edge_colours(w.profile, w.model, own.edge)});
  }
  if (stretches.size() < 2) return {};
  Shared best = share_mixture(stretches);
  constexpr int rounds = 4;  // the cost then falls by less than a hundredth a round
  for (int round = 0; round < rounds; ++round) {
    Shared next = settle(stretches, best);
    if (next.cost >= best.cost) break;
    best = std::move(next);
  }
  // Three values more, of some forty a stretch that do not follow from their neighbours, explain about so much by chance.
  constexpr double by_chance = 1.08;
  if (best.cost > by_chance) return {};
  return {light, best.material};
}

Surroundings learn_surroundings(std::vector<LightWitness> witnesses, const std::optional<TableLight>& known) {
  const TableLight light = known ? *known : learn_light(witnesses);
  const auto shade = [&](const TableLight& in) {
    for (LightWitness& w : witnesses) set_shadow(w.model, in, w.outward);
  };
  shade(light);
  const WallColours walls = learn_walls(witnesses, light);
  if (known || !walls.known()) return {light, walls};
  shade({});
  for (LightWitness& w : witnesses) {
    if (shows_wall(w.model)) w.model.wall_colour = walls.facing(w.outward);
  }
  const TableLight better = refine_light(witnesses, light);
  shade(better);
  for (LightWitness& w : witnesses) w.model.wall_colour.reset();
  return {better, learn_walls(witnesses, better)};
}

}  // namespace chalkfold::trace
