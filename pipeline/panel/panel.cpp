// SPDX-License-Identifier: Apache-2.0
#include "pipeline/panel/panel.h"

#include <stdexcept>

#include "pipeline/common/require.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/regions.h"

namespace chalkfold::panel {

Contour outline_across_notches(const Panel& panel) {
  const std::size_t n = panel.outline.points.size();
  require_equal("sigmas of the outline", panel.outline.sigma.size(), n);
  require_equal("U of the outline", panel.outline.U.size(), n);
  std::vector<bool> inside(n, false);
  for (const Notch& notch : panel.marks.notches) {
    require_index("first point of a notch", notch.first, n);
    require_index("last point of a notch", notch.last, n);
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

std::string to_string(PanelKind kind) {
  switch (kind) {
    case PanelKind::panel:
      return "panel";
    case PanelKind::hide:
      return "hide";
    case PanelKind::offcut:
      return "offcut";
  }
  throw std::logic_error("no such kind of panel");
}

double usable_area(const Panel& panel) {
  std::vector<Polyline> taken;
  for (const Contour& c : panel.cutouts) taken.push_back(c.points);
  for (const Flaw& f : panel.flaws) taken.push_back(f.ring);
  return geometry::area_without(panel.outline.points, taken);
}

double usable_area_U(const Panel& panel) {
  double sum = 0;
  const auto add = [&](const Contour& c) {
    require_equal("U of the contour", c.U.size(), c.points.size());
    for (std::size_t i = 0; i < c.points.size(); ++i)
      sum += c.U[i] * (c.points[(i + 1) % c.points.size()] - c.points[i]).norm();
  };
  add(panel.outline);
  for (const Contour& c : panel.cutouts) add(c);
  for (const Flaw& f : panel.flaws) sum += f.U * geometry::length(f.ring, true);
  return sum;
}

}  // namespace chalkfold::panel
