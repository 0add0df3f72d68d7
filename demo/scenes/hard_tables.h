// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "demo/base/material.h"
#include "demo/base/noise.h"

namespace chalkfold::demo {

/// A panel's material and the table under it, by chance. All draw from the generator given, so their order matters.
struct PanelAndTable {
  Material material;
  Table table;
};

/// Leather brown on brown wood, cream on linen, dark on dark, and others alike: luminance 1.05 to 1.3 apart, or equal and another hue.
PanelAndTable near_colours(Random& random);

/// A plain panel on a table of strong grain, weave or pattern, 1.5 or more apart in luminance on the mean.
PanelAndTable plain_on_grained(Random& random);

/// Pale both.
PanelAndTable light_on_light(Random& random);

/// The lit panel about as bright (within 8 %) as the table where `left` of its light is left, and of its hue.
PanelAndTable bright_as_shade(Random& random, double left);

/// Checks, stripes or plaid of two dyes that differ.
Material patterned_material(Random& random);

/// The table in another colour: its mean over the grain becomes `wanted`.
Table dyed(Table table, const Colour& wanted);

}  // namespace chalkfold::demo
