// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/panel.h"

namespace chalkfold {

Contour outline_across_notches(const Panel& panel) {
  const std::size_t n = panel.outline.points.size();
  std::vector<bool> inside(n, false);
  for (const Notch& notch : panel.marks.notches) {
    for (std::size_t i = (notch.first + 1) % n; i != notch.last; i = (i + 1) % n) inside[i] = true;
  }
  Contour across;
  for (std::size_t i = 0; i < n; ++i) {
    if (inside[i]) continue;
    across.points.push_back(panel.outline.points[i]);
    across.sigma.push_back(panel.outline.sigma[i]);
    across.U.push_back(panel.outline.U[i]);
  }
  return across;
}

}  // namespace chalkfold
