// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>

namespace chalkfold::tools {

/// Runs the program and gives what it returns. What it throws is told on standard error, and its exit code given instead: a UserError has its own, a
/// file system that failed is ExitCode::file; anything else is a fault of the program, ExitCode::internal.
int told_failure(const std::function<int()>& program);

}  // namespace chalkfold::tools
