// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "pipeline/draft/piece/draft_piece.h"
#include "pipeline/job/plan/job.h"

namespace chalkfold::job {

/// Reads a job file's bytes: JSON with comments, as job.schema.json describes it. Paths are taken from `folder`, the job file's own.
/// Throws UsageError that lists every fault at once, a line each: file, line, key, what was expected and the nearest known key.
/// Names must be safe file names and differ by more than the case of their letters.
JobFile read_job_file(std::string_view bytes, const std::string& where, const std::filesystem::path& folder);

/// Options of one panel: `base`, then the job's defaults, then the panel's own. `existing`: what the command line says of the old
/// allowance; where nobody gives it, it is the new one, so that the cut line stays where the old edge was.
draft::DraftOptions draft_options_of(const JobPanel& panel, const JobFile& job, const draft::DraftOptions& base,
                                     std::optional<double> existing = {});

}  // namespace chalkfold::job
