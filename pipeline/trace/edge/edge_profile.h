// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <Eigen/Core>
#include <optional>
#include <vector>

#include "pipeline/geometry/point.h"

namespace chalkfold::trace {

/// Colours along a line across a boundary, from inside the panel outward, in linear light (sRGB decoded, 0..1) or a linear mixture of
/// its channels. Sample i lies at first + i * step mm along the outward normal.
struct EdgeProfile {
  double first = 0, step = 0.2;
  std::vector<Eigen::Vector3f> linear;
  /// samples that show neither panel nor table: paper of a sheet or tag, or outside the photo; empty when none is so
  std::vector<bool> covered;
  /// of each sample: the squared slope of the tone curve there (tone_weights), empty before it is known
  std::vector<float> weight;
  double at(std::size_t i) const { return first + step * static_cast<double>(i); }
};

/// How the table beside a panel is lit: one soft lamp and light from all round.
struct TableLight {
  /// table frame: shift of a shadow per mm of height, pointing away from the lamp (cotangent of its elevation)
  Vec2 slant = Vec2::Zero();
  /// standard deviation of that shift over the lamp's face, per mm of height
  double spread = 0.5;
  /// share of the lamp in the light on the open table, 0..1; 0 turns the contact shadow off
  double lamp = 0;
};

/// What is known about an edge before its profile is fitted. Table at distance u beyond the wall's foot has lost, of its light, lamp * Phi((shift - u) / width)
/// to the panel's cast shadow and (1 - lamp) / 2 * (1 - u / sqrt(u^2 + h^2)) to the wall standing in the sky's way (a step of height h under an even sky):
/// all channels alike, which is what tells shadow from panel.
struct EdgeModel {
  /// mm, Gaussian sigma of the picture along this normal
  double blur = 0.3;
  /// mm, how far the side wall's foot lies outside the upper edge as seen from the camera; negative when hidden behind it
  double wall = 0;
  /// mm, h
  double thickness = 1;
  /// mm, along the normal
  double shadow_shift = 0;
  /// mm
  double shadow_width = 0.5;
  /// 0..1; 0 for no contact shadow at all
  double lamp = 0;
  /// in the profile's units, when it has been learnt (learn_walls); else the wall is thought to be like the panel
  std::optional<Vec3> wall_colour;
};

/// Added to costs before they are compared, squared noise sigmas: below, nothing is left to explain.
constexpr double cost_floor = 1e-3;

/// Sets the model's shadow for an edge that faces along `outward` (unit) in a light.
void set_shadow(EdgeModel& model, const TableLight& light, const Vec2& outward);

struct EdgeFit {
  bool ok = false;
  /// mm along the normal: the upper face's limit
  double edge = 0;
  /// mm, from the residual
  double sigma = 0;
  /// weighted mean squared residual
  double cost = 0;
  /// weighted step between the panel and what adjoins it, in the profile's units (noise sigmas once whitened)
  double contrast = 0;
};

/// Sets the weights from the brightness of a profile still in linear light: noise is even in coded values, not in light. Paper gets none.
void set_tone_weights(EdgeProfile& profile);

/// Fits panel | side wall | table with a contact shadow, blurred by the picture, to a profile: the edge by search in [from, to], the colours by
/// linear least squares in linear light (blur adds light, not code values), each residual weighted by the slope of the tone curve at that
/// brightness, so that dark and light sides count as the picture's noise has them. That makes the place independent of tone curve and shadow,
/// where a gradient peak is not.
EdgeFit fit_edge(const EdgeProfile& profile, const EdgeModel& model, double from, double to);

/// Colours that explain a profile best with the edge held at `edge`, and what the profile says of the wall by itself, panel and table left free:
/// its colour is wall_sum / wall_weight. Weight 0 where the wall is hidden.
struct EdgeColours {
  Vec3 panel = Vec3::Zero(), table = Vec3::Zero(), wall_sum = Vec3::Zero();
  double wall_weight = 0;
};
EdgeColours edge_colours(const EdgeProfile& profile, const EdgeModel& model, double edge);

struct EdgeMinimum {
  double edge = 0, cost = 0, curvature = 0;
};

/// Least cost near a start by successive parabolas; `step` (mm) is halved each round.
EdgeMinimum refine_edge(const EdgeProfile& profile, const EdgeModel& model, double start, double step, int rounds);

}  // namespace chalkfold::trace
