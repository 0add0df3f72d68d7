// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/change/percent_change.h"

namespace chalkfold::draft {

double percent_change(double before, double after) { return 100 * (after - before) / before; }

double compensated_length(double length, double percent) { return length / (1 + percent / 100); }

}  // namespace chalkfold::draft
