// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <set>
#include <string>

#include "pipeline/job/plan/run_options.h"
#include "pipeline/output/json/results.h"

namespace chalkfold::job {

/// How the drafted pieces go together: compares the job's seams, proposes others, and when there are seams and the job does not say no,
/// adjusts the pieces to each other and writes them to OUT/adjusted, beside the unadjusted ones; then the sewing sheet. Sets Results::set
/// when there are two pieces, or seams. A panel that was not measured counts as a refused piece; an adjusted piece that cannot be drawn is
/// written as it was drafted (adjustment-failed). Fault codes: those of adjust_set; seam-does-not-meet and seam-marks-differ (warnings, of the pieces as they are
/// cut at last). Throws FileError.
void sew_set(const RunOptions& options, output::Results& results);

/// The set's adjustment options: the job's, else the defaults; the scale's sigma is the survey's where photos gave one.
draft::AdjustOptions adjust_options_of(const RunOptions& options, const output::Results& results);

/// Enters the places of the files that sew_set wrote.
void add_written(const output::SetRecord& set, std::set<std::string>& written);

}  // namespace chalkfold::job
