// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/job/plan/run_options.h"
#include "pipeline/output/json/results.h"

namespace chalkfold::job {

/// The sewing sheet of the job's seams, as they were compared on the pieces in the results: order, thread, and OUT/sewing.pdf. Roles
/// and stitch are the job's, thicknesses those of the measured panels. Nothing without seams. Throws UsageError (thread.h), FileError.
void write_sewing_sheet(const RunOptions& options, const std::vector<draft::SeamReport>& seams,
                        output::Results& results);

}  // namespace chalkfold::job
