// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>

#include "pipeline/capture/photo.h"
#include "pipeline/trace/chalk/stroke.h"

namespace chalkfold::trace {

/// Significance of a stroke where no ink is known: of a few thousand lines on the hardest materials none stands out as much. Fitted, see stroke_finder.cpp
inline constexpr double significance_alone = 11;

struct StrokeOptions {
  /// of 255: what a coder may make up beside a strong edge, of light and of colour alone. A fine JPEG's colour: 10
  double coded_light = 0, coded_colour = 10;
  /// Tells of a stroke that lies as marks do; may be empty. Once the panel's chalk is known, less significance will do for it.
  std::function<bool(const Stroke&)> expected;
};

/// Options for a picture out of such a file.
StrokeOptions stroke_options(const capture::CodingSteps& coding);

}  // namespace chalkfold::trace
