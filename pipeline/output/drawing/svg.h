// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "pipeline/output/drawing/drawing.h"

namespace chalkfold::output {

/// How a drawing stands in its SVG.
struct SvgOptions {
  /// mm of white around the lines' box
  double margin = 10;
  /// mm
  double stroke = 0.35;
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const SvgOptions& options);

/// SVG file of a drawing at true scale: width and height in mm, viewBox in mm, one group a layer (id "layer-1" ...)
/// with a title. Lines only, no fill, no letters: what a drawing says in text stands in the file's title and
/// description, so that a cutter does not cut it.
std::string svg_of(const Drawing& drawing, const SvgOptions& options = {});

/// The same of a panel as it lies.
std::string svg_of(const panel::Panel& panel, const SvgOptions& options = {});

}  // namespace chalkfold::output
