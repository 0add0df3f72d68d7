// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/job/plan/job.h"
#include "pipeline/job/plan/job_reader.h"

namespace chalkfold::job {

/// The job's `seams`: number, a, b (as SeamSide is written), ease_mm, runs, group, order, fit_on_seat, note. Slips go to the reader.
std::vector<draft::SeamAsked> read_seams(JobReader& reader, const nlohmann::json& json);

/// The job's `set`: adjust, wear_percent, wear, tolerance_mm, tolerance_percent, mark_tolerance_mm, move_limit_mm.
void read_set(JobReader& reader, const nlohmann::json& json, JobSet& set);

/// Tells of seams that name a piece which no panel of the job is, where the job names all its panels.
void check_seam_names(JobReader& reader, const JobFile& job);

}  // namespace chalkfold::job
