// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "pipeline/geometry/outline_registration.h"
#include "pipeline/geometry/polygon.h"

namespace chalkfold::test {

/// [[x, y], ...], mm.
inline Polyline points_of(const nlohmann::json& list) {
  Polyline out;
  for (const auto& p : list) out.emplace_back(p[0].get<double>(), p[1].get<double>());
  return out;
}

/// Rms distance, mm, of points every 2 mm of one outline from another, laid on it by turning and shifting.
inline double rms_off(const Polyline& measured, const Polyline& truth,
                      geometry::Rigid2* truth_from_measured = nullptr) {
  const geometry::Rigid2 motion =
      geometry::register_outlines(geometry::ClosedOutline(measured), geometry::ClosedOutline(truth)).front().rigid;
  if (truth_from_measured) *truth_from_measured = motion;
  const Polyline even =
      geometry::resample_closed(measured, static_cast<std::size_t>(geometry::length(measured, true) / 2));
  double sum = 0;
  for (const Vec2& p : even) sum += std::pow(geometry::distance_to(truth, motion * p, true), 2);
  return std::sqrt(sum / static_cast<double>(even.size()));
}

/// In x = 0, counter-clockwise again.
inline Polyline mirrored(Polyline points) {
  for (Vec2& p : points) p.x() = -p.x();
  std::reverse(points.begin(), points.end());
  return points;
}

}  // namespace chalkfold::test
