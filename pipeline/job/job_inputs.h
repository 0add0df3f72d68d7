// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>

#include "pipeline/job/plan/run_options.h"
#include "pipeline/output/json/results.h"

namespace chalkfold::job {

/// Takes a JSON file that the user named: a measured panel of an earlier run (it has a schema), or the job file; the job's photos,
/// tape distances and print bars go into the options unless the command line gave them. Throws FileError when it cannot be read, UsageError
/// for a wrong job file or a second one.
void add_json_input(const std::filesystem::path& file, RunOptions& options);

/// A job file of what a run found, ready to edit: JSON with comments.
std::string first_job_file(const output::Results& results, const RunOptions& options,
                           const std::filesystem::path& job_folder);

}  // namespace chalkfold::job
