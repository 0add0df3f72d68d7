// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/job/plan/run_options.h"
#include "pipeline/output/json/results.h"

namespace chalkfold::job {

/// What the pieces, the adjusted ones where there are any, take of each material that they name, with a picture layout/MATERIAL.svg of the roll. Nothing when no piece
/// names a material. Measured hides and offcuts are entered at their materials. Fault codes of its own, for the run: material-not-given (some pieces name one and others do not), material-not-used
/// (the job knows a material that no piece names), hide-not-compared (a measured hide's material is not known, or no piece's). Throws UsageError (material.h), FileError.
void plan_material(const RunOptions& options, output::Results& results);

}  // namespace chalkfold::job
