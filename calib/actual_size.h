// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

namespace chalkfold::calib {

/// Adds to a PDF file the wish that it be printed without scaling (ViewerPreferences, PrintScaling None: ISO
/// 32000-1:2008, 12.2), as an incremental update (7.5.6), because Cairo cannot write it. A viewer may ignore it; the
/// check bars tell. Precondition: a file as Cairo writes it in version 1.4, with a plain cross-reference table;
/// otherwise throws std::logic_error.
std::string ask_for_actual_size(std::string pdf);

}  // namespace chalkfold::calib
