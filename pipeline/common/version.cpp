// SPDX-License-Identifier: Apache-2.0
#include "pipeline/common/version.h"

namespace chalkfold {

std::string program_version() { return CHALKFOLD_VERSION; }

}  // namespace chalkfold
