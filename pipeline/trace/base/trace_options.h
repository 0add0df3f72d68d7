// SPDX-License-Identifier: Apache-2.0
#pragma once

namespace chalkfold::trace {

/// What is looked for on the table, and how finely.
struct TraceOptions {
  /// mm, from the table to the panel's upper face
  double thickness = 1.2;
  /// mm, from the table to the sheets' printed face (z = 0): office paper of 80 g/m2
  double paper_thickness = 0.1;
  /// mm, of a thickness read with calipers; larger when the user did not say
  double thickness_sigma = 0.1;
  /// mm, narrowest panel; narrower things are tools: rules are 28 mm wide
  double min_width = 30;
  /// mm2, smallest panel: 50 mm square
  double min_area = 2500;
  /// mm, narrower openings are chalk, holes or slits: chalk lines are up to 6 mm wide
  double min_cutout_width = 7;
  /// of the coarse segmentation, which is to be good to a millimetre or two
  double coarse_mm_per_px = 1.0;
  /// look for drawn rings (rings.h): the photo is to show a hide
  bool rings = false;
  /// Height of the panel's upper face in the table frame, mm.
  double face_height() const { return thickness - paper_thickness; }
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const TraceOptions& options);

}  // namespace chalkfold::trace
