// SPDX-License-Identifier: Apache-2.0
#pragma once

namespace chalkfold::draft {

/// A dimensional change as ISO 5077 signs it: (after - before) / before x 100, so that minus is shrinkage.
struct PercentChange {
  double percent = 0;
  /// percent (k = 2)
  double U = 0;
};

double percent_change(double before, double after);

/// What must be cut for `length` to be there after the change: length / (1 + percent / 100).
double compensated_length(double length, double percent);

}  // namespace chalkfold::draft
