// SPDX-License-Identifier: Apache-2.0
#pragma once

namespace chalkfold::tools {

/// From now on the first Ctrl-C (SIGINT) or SIGTERM only asks the run to stop; a second one ends the program at once.
void listen_for_stop();

/// Whether one came.
bool stop_signalled();

}  // namespace chalkfold::tools
