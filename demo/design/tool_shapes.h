// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "demo/base/scene.h"

namespace chalkfold::demo {

/// A flat body of one height, with what is printed on it.
struct ToolPart {
  /// table frame, even-odd
  std::vector<Polyline> rings{};
  double thickness = 1;
  Colour colour{};
  /// shaded like a rod lying along the tool's x
  bool round = false;
  std::vector<StrokeField::Stroke> print{};
};

/// The bodies of a tool; none for a thread coil.
std::vector<ToolPart> tool_parts(const Tool& tool);

/// The threads of a thread coil; none for other tools.
Threads tool_threads(const Tool& tool);

/// Circle that holds the whole tool, round `Tool::at`, mm.
double tool_radius(ToolKind kind);

}  // namespace chalkfold::demo
