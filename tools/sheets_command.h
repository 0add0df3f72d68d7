// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <CLI/CLI.hpp>

namespace chalkfold::tools {

/// Adds `chalkfold sheets`, which writes the printable sheets and tags. Its callback throws UsageError or FileError.
CLI::App* add_sheets_command(CLI::App& app);

}  // namespace chalkfold::tools
