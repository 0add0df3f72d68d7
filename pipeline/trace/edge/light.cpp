// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/edge/light.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <utility>

namespace chalkfold::trace {
namespace {

// fitted: outline_accuracy.py, seeds 9001, 21001, 31001, 41001, and the photographs
// A light as search coordinates: slant x, slant y, spread, lamp. Lamps stand 18 degrees above the table or higher (a slant of 3).
using Point = std::array<double, 4>;
constexpr Point lowest = {-3, -3, 0.1, 0.05}, highest = {3, 3, 2.0, 0.95};
constexpr Point first_step = {0.25, 0.25, 0.12, 0.12};  // half the distance of the starts; fitted
constexpr int descents = 7;                             // rounds; fitted
constexpr double none = 1e9;                            // of a cost

TableLight light_of(const Point& p) { return {Vec2(p[0], p[1]), p[2], p[3]}; }

// mm, steps of an edge that starts near and farther off, and rounds of halving them: to a few hundredths
constexpr double fine_step = 0.1, coarse_step = 0.2;
constexpr int rounds = 3;

/// A light tried on all stretches: its cost and the edges found under it.
struct Outcome {
  double cost = none;
  std::vector<double> edges;
};

/// Mean cost of the stretches under a light relative to what each costs without a shadow, the edges searched from `start` on. A light that has reached
/// `enough` is given up: its cost would only grow.
Outcome try_light(const std::vector<LightWitness>& witnesses, const std::vector<double>& plain, const TableLight& light,
                  const std::vector<double>& start, double enough) {
  constexpr double farthest_in = -0.9, farthest_out = 0.5;  // mm off the followed boundary; fitted
  Outcome out{0, start};
  for (std::size_t i = 0; i < witnesses.size() && out.cost < enough; ++i) {
    EdgeModel model = witnesses[i].model;
    set_shadow(model, light, witnesses[i].outward);
    const EdgeMinimum m = refine_edge(witnesses[i].profile, model, start[i], fine_step, rounds);
    out.edges[i] = std::clamp(m.edge, farthest_in, farthest_out);
    out.cost += std::min((m.cost + cost_floor) / (plain[i] + cost_floor), most_relative_cost) /
                static_cast<double>(witnesses.size());
  }
  return out;
}

/// Coordinate descent, each step length halved when neither way along it helps.
Outcome descend(const std::vector<LightWitness>& witnesses, const std::vector<double>& plain, Point& best,
                Outcome least) {
  Point step = first_step;
  for (int round = 0; round < descents; ++round) {
    for (std::size_t k = 0; k < best.size(); ++k) {
      bool moved = false;
      for (const double sign : {1.0, -1.0}) {
        Point p = best;
        p[k] = std::clamp(p[k] + sign * step[k], lowest[k], highest[k]);
        Outcome tried = try_light(witnesses, plain, light_of(p), least.edges, least.cost);
        if (tried.cost >= least.cost) continue;
        least = std::move(tried);
        best = p;
        moved = true;
        break;
      }
      if (!moved) step[k] *= 0.5;
    }
  }
  return least;
}

/// Costs of the stretches without a shadow, and the edges then.
std::pair<std::vector<double>, std::vector<double>> without_shadow(const std::vector<LightWitness>& witnesses) {
  std::vector<double> costs, edges;
  for (const LightWitness& w : witnesses) {
    const EdgeMinimum m = refine_edge(w.profile, w.model, 0, coarse_step, rounds + 1);
    costs.push_back(m.cost);
    edges.push_back(m.edge);
  }
  return {costs, edges};
}

/// A stretch's edge under a light, wherever it lies: under a long shadow far from where it seems to be without one.
double edge_under(const LightWitness& w, const TableLight& light) {
  EdgeModel model = w.model;
  set_shadow(model, light, w.outward);
  EdgeMinimum best{0, none, 0};
  constexpr double start_step = 0.15;                             // mm, half of what lies between the starts
  for (const double start : {-0.75, -0.45, -0.15, 0.15, 0.45}) {  // mm, over what try_light allows
    const EdgeMinimum m = refine_edge(w.profile, model, start, start_step, rounds);
    if (m.cost < best.cost) best = m;
  }
  return best.edge;
}

}  // namespace

TableLight learn_light(const std::vector<LightWitness>& witnesses) {
  if (witnesses.empty()) return {};
  const auto [plain, plain_edges] = without_shadow(witnesses);
  std::vector<std::pair<Point, Outcome>> starts;
  double best_cost = none, second_cost = none;  // two are followed up
  constexpr int directions = 8;
  constexpr double lamp = 0.55;  // half of the light, a little more
  for (int direction = 0; direction < directions; ++direction) {
    const double turn = direction * std::numbers::pi / (directions / 2.0);
    for (const double slant : {0.35, 0.8, 1.6}) {  // elevations of 71, 51 and 32 degrees
      for (const double spread : {0.25, 0.6}) {    // fitted
        const Point p{slant * std::cos(turn), slant * std::sin(turn), spread, lamp};
        starts.emplace_back(p, try_light(witnesses, plain, light_of(p), plain_edges, second_cost));
        second_cost = std::min(second_cost, std::max(best_cost, starts.back().second.cost));
        best_cost = std::min(best_cost, starts.back().second.cost);
      }
    }
  }
  std::stable_sort(starts.begin(), starts.end(),
                   [](const auto& a, const auto& b) { return a.second.cost < b.second.cost; });
  Point best{};
  Outcome least;
  for (std::size_t i = 0; i < 2; ++i) {
    Point p = starts[i].first;
    Outcome found = descend(witnesses, plain, p, std::move(starts[i].second));
    if (found.cost >= least.cost) continue;
    least = std::move(found);
    best = p;
  }
  constexpr double worth = 0.97;  // a lamp must explain at least three hundredths more than none; fitted
  return least.cost < worth ? light_of(best) : TableLight{};
}

TableLight refine_light(const std::vector<LightWitness>& witnesses, const TableLight& light) {
  if (light.lamp <= 0) return light;
  std::vector<double> edges;
  edges.reserve(witnesses.size());
  for (const LightWitness& w : witnesses) edges.push_back(edge_under(w, light));
  const std::vector<double> plain = without_shadow(witnesses).first;
  Point p{light.slant.x(), light.slant.y(), light.spread, light.lamp};
  descend(witnesses, plain, p, try_light(witnesses, plain, light, edges, none));
  return light_of(p);
}

double light_cost(const std::vector<LightWitness>& witnesses, const TableLight& light) {
  if (light.lamp <= 0 || witnesses.empty()) return 1;
  std::vector<double> edges;
  edges.reserve(witnesses.size());
  for (const LightWitness& w : witnesses) edges.push_back(edge_under(w, light));
  return try_light(witnesses, without_shadow(witnesses).first, light, edges, none).cost;
}

}  // namespace chalkfold::trace
