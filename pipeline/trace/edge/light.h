// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/trace/edge/edge_profile.h"

namespace chalkfold::trace {

/// Times what a stretch costs by itself, at most, in a mean over stretches: none outvotes the rest.
/// fitted: outline_accuracy.py, seeds 9001, 21001, 31001, 41001.
constexpr double most_relative_cost = 3;

/// An averaged stretch of boundary that tells of the light: its profile with the edge near 0, which way it faces, and its model without shadow.
struct LightWitness {
  EdgeProfile profile;
  Vec2 outward = Vec2::Zero();
  EdgeModel model;
};

/// The light that explains all stretches of a panel's boundary together best: a dark panel's contact shadow cannot be told from the panel on one stretch alone, but
/// lit and shaded sides share one lamp. Search over a fixed grid of directions, then coordinate descent. Returns no lamp unless one explains clearly more.
TableLight learn_light(const std::vector<LightWitness>& witnesses);

/// A light found before, descended from once more: for when the witnesses' models know more than they did. No lamp stays none.
TableLight refine_light(const std::vector<LightWitness>& witnesses, const TableLight& light);

/// How a light explains the stretches: mean of what each costs, its edge where that light puts it, relative to its cost without a shadow. 1 for no lamp.
double light_cost(const std::vector<LightWitness>& witnesses, const TableLight& light);

}  // namespace chalkfold::trace
