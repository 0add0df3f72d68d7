// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/run_job.h"

namespace chalkfold {

Stages default_stages() { return {load_photo, find_sheets, solve_survey, trace_panels}; }

}  // namespace chalkfold
