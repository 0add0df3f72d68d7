// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

namespace chalkfold {

/// The program's version, "0.1.0", as the top CMake file names it.
std::string program_version();

}  // namespace chalkfold
