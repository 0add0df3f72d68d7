// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/stages/stages.h"

#include "pipeline/common/version.h"
#include "pipeline/job/files/kept_state.h"

namespace chalkfold::job {

Stages default_stages() {
  Stages stages{capture::load_photo, capture::find_sheets, survey::solve_survey,
                trace::trace_panels, capture::peek_photo,  {}};
  const std::string checksum = own_checksum();
  if (!checksum.empty()) stages.maker = program_version() + " " + checksum;
  return stages;
}

}  // namespace chalkfold::job
