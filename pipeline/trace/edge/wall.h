// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <vector>

#include "pipeline/trace/edge/light.h"

namespace chalkfold::trace {

/// Is a stretch's wall wide enough to be told from a shift of its edge?
bool shows_wall(const EdgeModel& model);

/// Light on an upright wall that faces along `outward` (unit), as a share of that on the open table: the lamp from the side, of the room's light the half
/// above the table, and some of what the table sends back.
double light_on_wall(const TableLight& light, const Vec2& outward);

/// What the panel's cut side looks like: one material all round, under one light. Nothing is known of it by default.
class WallColours {
 public:
  WallColours() = default;
  /// `material`: the wall's colour (in the profiles' units) where as much light falls on it as on the open table.
  WallColours(const TableLight& light, const Vec3& material) : light_(light), material_(material) {}

  bool known() const { return material_.has_value(); }
  /// Colour of a wall that faces along `outward`.
  std::optional<Vec3> facing(const Vec2& outward) const;

 private:
  TableLight light_;
  std::optional<Vec3> material_;
};

/// Learns the side wall's colour from averaged stretches of boundary, their models with the shadow of `light` set. A wall of a pixel or so hides in the blur: a
/// stretch by itself is explained as well by a wider wall in some of the panel's or the table's colour, and its edge is off by up to the wall's width.
/// Stretches that see more and less of it, in the lamp's light and out of it, share one material. None is given where one colour for all explains them worse
/// than a colour for each would by chance, or where a single stretch shows a wall.
WallColours learn_walls(const std::vector<LightWitness>& witnesses, const TableLight& light);

/// All that is learnt from a panel's boundary before its edge is measured.
struct Surroundings {
  TableLight light;
  WallColours walls;
};

/// The light as if the wall were free to have any colour, the wall in that light, and once more both: where a wall shows and lies in the shade, how long the
/// shadow is and where the panel ends cannot be told apart without its colour. Models of the witnesses as bare_model gives them.
/// With a `known` light only the wall in it.
Surroundings learn_surroundings(std::vector<LightWitness> witnesses, const std::optional<TableLight>& known = {});

}  // namespace chalkfold::trace
