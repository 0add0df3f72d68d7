// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/job/plan/job_file.h"
#include "pipeline/panel/panel.h"

namespace chalkfold::job {

/// Makes a traced panel what the job knows it as (`of`; none: a panel). A hide and an offcut lose their marks and know which side was up, where the job
/// says so; every other panel loses its flaws and what was told of open rings.
void take_kind(panel::Panel& panel, const JobPanel* of, const JobFile* job);

}  // namespace chalkfold::job
