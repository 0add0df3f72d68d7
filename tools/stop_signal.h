// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/common/error.h"

namespace chalkfold::tools {

/// From now on the first Ctrl-C (SIGINT) or SIGTERM only asks the run to stop; a second one ends the program at once.
void listen_for_stop();

/// Whether one came.
bool stop_signalled();

/// What the program returns after one: 128 and the signal's number; ExitCode::interrupted when none came.
ExitCode stopped_exit_code();

}  // namespace chalkfold::tools
