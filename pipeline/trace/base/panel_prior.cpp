// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/base/panel_prior.h"

#include <cmath>

namespace chalkfold::trace {

float PanelPrior::at(const Vec2& table) const {
  if (log_odds.empty()) return 0;
  const Vec2 p = raster.raster_from_table(table);
  const int x = static_cast<int>(std::floor(p.x())), y = static_cast<int>(std::floor(p.y()));
  if (x < 0 || y < 0 || x + 1 >= log_odds.cols || y + 1 >= log_odds.rows) return 0;
  const auto u = static_cast<float>(p.x() - x), v = static_cast<float>(p.y() - y);
  const float *above = log_odds.ptr<float>(y) + x, *below = log_odds.ptr<float>(y + 1) + x;
  return (1 - v) * ((1 - u) * above[0] + u * above[1]) + v * ((1 - u) * below[0] + u * below[1]);
}

}  // namespace chalkfold::trace
