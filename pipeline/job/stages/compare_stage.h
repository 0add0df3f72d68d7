// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <map>
#include <string>

#include "pipeline/job/plan/run_options.h"
#include "pipeline/output/json/results.h"
#include "pipeline/output/reference/reference_file.h"

namespace chalkfold::job {

/// References of a job's panels, by the panel's name in the job, and what had to be assumed to read them.
struct NamedReference {
  output::Reference reference;
  /// or empty
  std::string remark;
};
using JobReferences = std::map<std::string, NamedReference>;

/// Reads them before any photo, so that a wrong name is heard of at once. Throws FileError as read_shape does.
JobReferences read_references(const RunOptions& options);

/// Compares every measured panel that has a reference: figures into its record, a picture into OUT/pictures. A comparison that is refused
/// is a warning of the run (not-compared), never a refusal of the panel. Throws FileError.
void compare_panels(const JobReferences& references, const RunOptions& options, output::Results& results);

/// Scales the piece of a panel for which the job says so; tells of it when there is no change to scale for (not-compensated), when it lies
/// within U (change-within-u), and when it parts a pair (pair-scaled-apart).
void compensate(draft::Piece& piece, const panel::Panel& panel, const RunOptions& options,
                const output::Results& results);

}  // namespace chalkfold::job
