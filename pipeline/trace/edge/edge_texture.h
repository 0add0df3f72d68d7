// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/trace/edge/edge_profile.h"

namespace chalkfold::trace {

/// How much, 0..1, of the panel's unevenness beside each profile runs along the edge (ribs, furrows, stripes) and is not grain or weave that lies elsewhere
/// on the next profile: the variance of the profiles' mean over a centimetre, as a share of their mean variance. `profiles` follow each other along a boundary
/// at 1 mm or so with their edges within half a millimetre of 0; on a closed one the last is followed by the first.
std::vector<double> texture_along(const std::vector<EdgeProfile>& profiles, bool closed);

/// Which share of a profile's texture take_out_texture takes out, 0..1, where this much of it runs along the edge.
double share_taken_out(double along);

/// How far inside the panel the texture is looked at, mm: two ribs of a wide corduroy, of 5 mm.
constexpr double texture_depth = 10;

/// What is known of profiles before their panel's texture is taken out, each list as long as they are.
struct TexturedEdges {
  /// in linear light as they are, from texture_depth inside the panel to 0
  const std::vector<EdgeProfile>& deep;
  /// mm along the normal, good to some tenths
  const std::vector<double>& edges;
  /// mm, of the picture
  const std::vector<double>& blur;
  /// texture_along
  const std::vector<double>& along;
  bool closed = false;
};

/// Takes out of profiles (linear light) what of the panel's texture runs along the edge, so that the panel's side is even as fit_edge has it. A dark
/// furrow at the very edge would else be taken for shadow or side wall, and the edge be placed some tenths of a millimetre inside. Well inside the panel
/// the texture is what is seen, averaged along the edge; in the last millimetre, where blur hides it, what its course farther inside foretells: least-squares
/// prediction (N. Wiener, "Extrapolation, Interpolation, and Smoothing of Stationary Time Series", 1949) with weights learnt from the same stretch of panel. It
/// predicts the change from the last place seen, so that of a pattern without a law of its own that place's colour is left.
void take_out_texture(const TexturedEdges& seen, std::vector<EdgeProfile>& profiles);

}  // namespace chalkfold::trace
