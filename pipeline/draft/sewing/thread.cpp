// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/sewing/thread.h"

#include <fmt/format.h>

#include "pipeline/common/error.h"

namespace chalkfold::draft {

void check(const StitchOptions& o) {
  const auto require = [](bool holds, const char* name, double value, const char* bounds) {
    if (!holds) throw UsageError(fmt::format("{} is {:g}; it must be {}", name, value, bounds));
  };
  require(o.stitch >= 1 && o.stitch <= 20, "stitch length, mm,", o.stitch, "1 to 20");
  require(o.waste >= 0 && o.waste <= 1, "thread waste", o.waste, "0 to 1");
  require(o.thickness >= 0 && o.thickness <= 50, "thickness at the seam, mm,", o.thickness, "0 to 50");
}

double thread_per_length(double stitch, double thickness) { return 2 + 2 * thickness / stitch; }

ThreadNeed thread_need(double seam_length, double thickness, const StitchOptions& options) {
  const double through = options.thickness > 0 ? options.thickness : thickness;
  const double half = 0.5 * thread_per_length(options.stitch, through) * seam_length * (1 + options.waste);
  return {half, half};
}

}  // namespace chalkfold::draft
