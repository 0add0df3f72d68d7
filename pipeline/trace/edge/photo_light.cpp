// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/edge/photo_light.h"

#include <algorithm>
#include <cmath>

namespace chalkfold::trace {
namespace {

// fitted: outline_accuracy.py, seeds 9001, 21001, 31001, 41001, and the photographs
/// Do two lights throw other shadows? Less is within what one panel's boundary can tell.
bool contradict(const TableLight& a, const TableLight& b, double thickness) {
  constexpr double shift = 0.5;  // mm, between the shadows' ends; fitted
  constexpr double share = 0.3;  // of the lamp in the light; fitted
  return thickness * (a.slant - b.slant).norm() > shift || std::abs(a.lamp - b.lamp) > share;
}

double thickness_of(const HeardLight& panel) {
  return panel.witnesses.empty() ? 0 : panel.witnesses.front().model.thickness;
}

bool any_contradicts(const std::vector<HeardLight>& panels, const TableLight& light) {
  return std::any_of(panels.begin(), panels.end(),
                     [&](const HeardLight& p) { return contradict(p.light, light, thickness_of(p)); });
}

}  // namespace

std::vector<std::optional<TableLight>> agreed_lights(const std::vector<HeardLight>& panels) {
  std::vector<std::optional<TableLight>> agreed(panels.size());
  std::vector<TableLight> lights;
  for (const HeardLight& p : panels)
    if (p.light.lamp > 0) lights.push_back(p.light);
  if (panels.size() < 2 || lights.empty()) return agreed;
  if (std::none_of(lights.begin(), lights.end(), [&](const TableLight& l) { return any_contradicts(panels, l); }))
    return agreed;
  std::vector<std::vector<double>> costs;  // of each light, panel by panel
  std::vector<double> together;
  for (const TableLight& light : lights) {
    costs.emplace_back();
    together.push_back(0);
    for (const HeardLight& p : panels) {
      costs.back().push_back(light_cost(p.witnesses, light));
      together.back() += static_cast<double>(p.witnesses.size()) * costs.back().back();
    }
  }
  const auto best = static_cast<std::size_t>(std::min_element(together.begin(), together.end()) - together.begin());
  constexpr double nearly = 1.08;  // times the cost of its own light; fitted
  for (std::size_t i = 0; i < panels.size(); ++i) {
    if (!contradict(panels[i].light, lights[best], thickness_of(panels[i]))) continue;
    if (costs[best][i] <= nearly * light_cost(panels[i].witnesses, panels[i].light)) agreed[i] = lights[best];
  }
  return agreed;
}

}  // namespace chalkfold::trace
