// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <vector>

namespace chalkfold::job {

/// The photos in a folder, not those in folders within it, by name. Throws FileError when it holds none or cannot be read.
std::vector<std::filesystem::path> photos_in(const std::filesystem::path& folder);

}  // namespace chalkfold::job
