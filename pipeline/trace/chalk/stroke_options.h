// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>

#include "pipeline/capture/photo.h"
#include "pipeline/trace/chalk/stroke.h"

namespace chalkfold::trace {

struct StrokeOptions {
  /// mm, standard deviation of the smoothing: strokes of 1 to 5 mm answer
  double scale = 1.1;
  /// mm, standard deviation of the averaging along the stroke
  double along = 3.0;
  /// mm, the same for wide chalk and chalk broken by ribs
  double scale_coarse = 2.2;
  /// mm
  double along_coarse = 4.8;
  /// mm, a break in the chalk that is bridged
  double gap = 4.0;
  /// mm
  double least_length = 6;
  /// mm
  double least_width = 0.5, most_width = 7;
  /// standard deviations of the material
  double least_contrast = 1.2;
  /// of 255, over the three channels together: a camera's noise, over a stroke's area, is far below
  double least_step = 3.0;
  double coded_light = 0,
         /// of 255: what a coder may make up beside a strong edge, of light and of colour alone
      coded_colour = 10;
  /// of the strokes that teach an ink, and where one is known
  double least_significance = 6;
  /// of strokes as strong as a known ink: along ribs, displaced copies show much of the rib
  double least_significance_strong = 3.2;
  /// of strokes much fainter than the ink
  double least_significance_faint = 10;
  /// where it is not
  double least_significance_alone = 11;
  /// contrast, of that of the strokes which taught the ink
  double least_of_ink = 0.18;
  /// Tells of a stroke that lies as marks do; may be empty. Once the panel's chalk is known, less significance will do for it.
  std::function<bool(const Stroke&)> expected;
  /// of the significance asked for
  double share_expected = 0.75;
  double least_steadiness = 0.55;
  /// a stroke seen again more often is part of the material's pattern
  int most_repeats = 2;
};

/// Options for a picture out of such a file.
StrokeOptions stroke_options(const capture::CodingSteps& coding);

}  // namespace chalkfold::trace
