// SPDX-License-Identifier: Apache-2.0
#pragma once

namespace chalkfold::draft {

enum class Symmetric {
  /// when a centre line is drawn, or the halves differ by no more than the measurement and the fray explain
  automatic,
  yes,
  no,
};

/// Which half is kept, as seen with the axis upright; `mean` averages both.
enum class Fold { mean, left, right };

/// Whether a piece is made symmetric, and by what.
struct SymmetryOptions {
  Symmetric symmetric = Symmetric::automatic;
  Fold fold = Fold::mean;
  /// mm, how far off a centre line is drawn by hand; added to its measured sigma
  double chalk_sigma = 0.3;
  /// rad
  double chalk_sigma_angle = 0.002;
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const SymmetryOptions& options);

}  // namespace chalkfold::draft
