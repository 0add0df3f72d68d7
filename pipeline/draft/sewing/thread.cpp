// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/sewing/thread.h"

#include "pipeline/common/check_option.h"
#include "pipeline/common/require.h"

namespace chalkfold::draft {

void check(const StitchOptions& o) {
  check_option("stitch length, mm,", o.stitch, 1, 20);
  check_option("thread waste", o.waste, 0, 1);
  check_option("thickness at the seam, mm,", o.thickness, 0, 50);
}

double thread_per_length(double stitch, double thickness) {
  require_above("stitch", stitch, 0);
  require_at_least("thickness", thickness, 0);
  return 2 + 2 * thickness / stitch;
}

ThreadNeed thread_need(double seam_length, double thickness, const StitchOptions& options) {
  const double through = options.thickness > 0 ? options.thickness : thickness;
  const double half = 0.5 * thread_per_length(options.stitch, through) * seam_length * (1 + options.waste);
  return {half, half};
}

}  // namespace chalkfold::draft
