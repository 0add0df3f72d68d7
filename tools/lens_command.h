// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <CLI/CLI.hpp>

#include "pipeline/common/error.h"

namespace chalkfold::tools {

/// Adds `chalkfold lens`, which writes a phone's lens profile. Its callback sets the exit code, and throws UsageError or FileError.
CLI::App* add_lens_command(CLI::App& app, ExitCode& exit_code);

}  // namespace chalkfold::tools
