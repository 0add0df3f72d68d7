// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <CLI/CLI.hpp>
#include <string>

#include "pipeline/common/error.h"
#include "pipeline/survey/survey.h"

namespace chalkfold::tools {

/// Adds `chalkfold run`, which measures the panels in photos. Its callback throws UsageError or FileError and sets
/// `exit_code` otherwise. `exit_code` must outlive the app.
CLI::App* add_run_command(CLI::App& app, ExitCode& exit_code);

/// "1,3,1012.0" or "1,3,1012.0,0.5": two sheet numbers, mm between their centre crosses, and its sigma in mm. Throws
/// UsageError.
survey::TapeDistance parse_tape(const std::string& text);

}  // namespace chalkfold::tools
