// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <CLI/CLI.hpp>

#include "pipeline/common/error.h"

namespace chalkfold::tools {

/// Adds `chalkfold compare REFERENCE MEASURED`. `exit_code` is set when it ran: some_refused when the two cannot be compared.
CLI::App* add_compare_command(CLI::App& app, ExitCode& exit_code);

}  // namespace chalkfold::tools
