// SPDX-License-Identifier: Apache-2.0
#pragma once

namespace chalkfold::draft {

/// How a seam is stitched: lockstitch, type 301 of ISO 4915.
struct StitchOptions {
  /// mm, from hole to hole; common practice in upholstery, no source
  double stitch = 4;
  /// added for ends, breaks and unpicking; 10 to 15 % are customary (apparelscience.com, "Measuring actual thread consumption")
  double waste = 0.15;
  /// mm, of everything that is sewn through; 0: what the two panels of the seam measure together
  double thickness = 0;
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const StitchOptions& options);

/// Thread along one unit of seam, without waste: 2 + 2 T / N, half of it from the needle and half from the bobbin.
/// Each thread runs the stitch length N on its side of the material and, at every hole, half the thickness T in and half out again,
/// because the two meet in the middle: N + T a stitch for either. The stitch of straight stretches of textile courses, there as
/// C = 2 + 2 T S with S stitches per inch (textilecalculations.com, "Calculate amount of sewing thread consumption"); thread that lies
/// slack or bites into soft material needs more or less, that is what `waste` is for.
/// Precondition: stitch > 0, thickness >= 0, in the same unit.
double thread_per_length(double stitch, double thickness);

/// Thread that a seam takes, mm, waste included.
struct ThreadNeed {
  double needle = 0, bobbin = 0;
  double total() const { return needle + bobbin; }
};

/// `thickness`: mm, of everything that is sewn through.
ThreadNeed thread_need(double seam_length, double thickness, const StitchOptions& options);

}  // namespace chalkfold::draft
