// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <numbers>
#include <optional>
#include <vector>

#include "demo/base/noise.h"
#include "demo/design/lay_panel.h"
#include "demo/scenes/scene_layout.h"
#include "demo/scenes/scenes.h"

namespace chalkfold::demo {

/// Parts of a scene by chance, shared by the scene families. All draw from the generator given, so their order matters.

inline constexpr double full_turn = 2 * std::numbers::pi;

/// Mean 0, never beyond two sigma.
double clipped_normal(Random& random, double sigma);

/// An invented phone's lens with this photo's changes; sets the scene's 35 mm equivalent.
calib::Lens random_lens(Random& random, const RandomSceneOptions& o, Scene& scene);

/// One of the usual coverings and dyes.
Material random_material(Random& random);

/// What panels of one scene have in common.
struct PanelLook {
  Material material{};
  /// mm
  double thickness = 1.2;
  bool frayed = false;
  /// mm; and loose threads on a frayed panel
  double longest_fray = 4;
  int loose_min = 0, loose_max = 3;
  bool chalked = true;
  std::optional<int> tag{};
};

/// Wear, chalk, threads and seed by chance; where it lies is left open.
LayOptions lay_options(Random& random, const PanelDesign& design, const PanelLook& look);

/// Lays a panel, the scene's first in its middle, others where they find room; false when there is none.
bool add_panel(Random& random, const PanelDesign& design, const PanelLook& look, Scene& scene);

/// A card for every panel that has a tag's number, nearest to that panel by far; false when one finds no place.
bool add_tags(Random& random, Scene& scene);

void add_tools(Random& random, const RandomSceneOptions& o, Scene& scene);

/// A table from which the material stands out (or by exactly o.contrast when that is set).
Table random_table(Random& random, const Material& material, const RandomSceneOptions& o);

/// The smallest gap to everything already on the table.
double least_gap(const std::vector<Thing>& taken, const Polyline& border);

/// Slides a rectangle outwards from a point until it lies clear of all things; nullopt when it does not within `reach`.
std::optional<Vec2> slid_out(const std::vector<Thing>& taken, const Vec2& from, double direction, double theta,
                             const Vec2& size, double gap, double reach);

/// Sheets around all that lies there; false when one finds no place.
bool add_sheets(Random& random, const RandomSceneOptions& o, Scene& scene);

void set_light(Random& random, const RandomSceneOptions& o, Scene& scene);

/// Raises the camera until everything is in the picture; false when that takes it too high.
bool place_camera(Random& random, const RandomSceneOptions& o, Scene& scene);

}  // namespace chalkfold::demo
