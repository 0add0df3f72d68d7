// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/base/trace_options.h"

#include "pipeline/common/check_option.h"

namespace chalkfold::trace {

void check(const TraceOptions& o) {
  check_option("thickness of the panel, mm,", o.thickness, 0, 50);
  check_option("thickness of the paper, mm,", o.paper_thickness, 0, 5);
  check_option("sigma of the thickness, mm,", o.thickness_sigma, 0, 20);
  check_option("narrowest panel, mm,", o.min_width, 5, 2000);
  check_option("smallest panel, mm2,", o.min_area, 0, 1e7);
  check_option("narrowest cut-out, mm,", o.min_cutout_width, 0, 1000);
  check_option("pitch of the coarse picture, mm/px,", o.coarse_mm_per_px, 0.1, 20);
}

}  // namespace chalkfold::trace
