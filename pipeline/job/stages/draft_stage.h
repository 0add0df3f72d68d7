// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/job/plan/run_options.h"
#include "pipeline/job/stages/progress.h"
#include "pipeline/output/json/results.h"

namespace chalkfold::job {

/// Reads the measured panels that the options name. A file that cannot be read is the user's slip: throws FileError.
std::vector<output::PanelRecord> read_measured(const RunOptions& options);

/// Enters them after the panels of the photos. Names that are taken get a number, as for photos.
void take_measured(std::vector<output::PanelRecord> measured, output::Results& results);

/// Drafts a piece from every measured panel, numbered in their order, and writes its files and the set's. A panel that cannot be
/// drafted is a refusal of its piece (draft-failed), never of the run. Panels of a pair give mirror images of each other; a pair of
/// which one was not measured is told of (pair-incomplete) and the other drafted alone. Throws UsageError when a pair names a panel
/// that there is not. Throws FileError.
void draft_pieces(const RunOptions& options, Progress& progress, output::Results& results);

}  // namespace chalkfold::job
