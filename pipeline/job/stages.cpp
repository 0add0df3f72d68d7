// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/stages.h"

#include "pipeline/common/version.h"
#include "pipeline/job/kept_state.h"

namespace chalkfold {

Stages default_stages() {
  Stages stages{load_photo, find_sheets, solve_survey, trace_panels, peek_photo, {}};
  const std::string checksum = own_checksum();
  if (!checksum.empty()) stages.maker = program_version() + " " + checksum;
  return stages;
}

}  // namespace chalkfold
