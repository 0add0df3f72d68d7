// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <Eigen/Core>
#include <vector>

#include "pipeline/geometry/point.h"

namespace chalkfold {

/// Colours along a line across a boundary, from inside the panel outward, in linear light (sRGB decoded, 0..1) or a linear mixture of
/// its channels. Sample i lies at first + i * step mm along the outward normal.
struct EdgeProfile {
  double first = 0, step = 0.2;
  std::vector<Eigen::Vector3f> linear;
  std::vector<float> weight;  ///< of each sample: the squared slope of the tone curve there (tone_weights), empty before it is known
  double at(std::size_t i) const { return first + step * static_cast<double>(i); }
};

/// What is known about an edge before its profile is fitted. Table beyond the wall's foot is darkened by the contact shadow to
/// 1 - depth * (1 - u / length) of its colour at distance u < length from the foot: all channels alike, which is what tells shadow from panel.
struct EdgeModel {
  double blur = 0.3;           ///< mm, Gaussian sigma of the picture along this normal
  double wall = 0;             ///< mm, how far the side wall's foot lies outside the upper edge as seen from the camera; negative when hidden behind it
  double shadow_depth = 0;     ///< 0..1
  double shadow_length = 1;    ///< mm
};

struct EdgeFit {
  bool ok = false;
  double edge = 0;       ///< mm along the normal: the upper face's limit
  double sigma = 0;      ///< mm, from the residual
  double cost = 0;       ///< weighted mean squared residual
  double contrast = 0;   ///< weighted step between the panel and what adjoins it, in the profile's units (noise sigmas once whitened)
};

/// Sets the weights from the brightness of a profile still in linear light: noise is even in coded values, not in light.
void set_tone_weights(EdgeProfile& profile);

/// Fits panel | side wall | table with a contact shadow, blurred by the picture, to a profile: the edge by search in [from, to], the colours by
/// linear least squares in linear light (blur adds light, not code values), each residual weighted by the slope of the tone curve at that
/// brightness, so that dark and light sides count as the picture's noise has them. That makes the place independent of tone curve and shadow,
/// where a gradient peak is not.
EdgeFit fit_edge(const EdgeProfile& profile, const EdgeModel& model, double from, double to);

/// A contact shadow to try: depth and length as in EdgeModel.
struct ShadowChoice {
  double depth = 0, length = 1;
};

/// The shadows worth trying at a panel of a thickness: none first, then depths and lengths in proportion to the thickness (lamps from nearly overhead to
/// some fifteen degrees above the table).
std::vector<ShadowChoice> shadow_choices(double thickness);

/// Least cost over the edge in [from, to] of each choice, for a (preferably averaged) profile.
std::vector<double> shadow_costs(const EdgeProfile& profile, EdgeModel model, const std::vector<ShadowChoice>& choices, double from, double to);

}  // namespace chalkfold
