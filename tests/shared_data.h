// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdlib>
#include <filesystem>
#include <optional>

namespace chalkfold {

/// Folder of the photographs and outside data that are too large or not ours to commit: the environment variable
/// CHALKFOLD_SHARED, else the folder `shared` beside the project. Nothing when there is none; a test that needs it then
/// skips and says so:
///
///     const auto shared = shared_data();
///     if (!shared) GTEST_SKIP() << no_shared_data;
inline std::optional<std::filesystem::path> shared_data() {
  const char* chosen = std::getenv("CHALKFOLD_SHARED");
  const std::filesystem::path folder = chosen ? chosen : CHALKFOLD_SOURCE_DIR "/../shared";
  std::error_code error;
  if (!std::filesystem::is_directory(folder, error)) return std::nullopt;
  return folder;
}

inline constexpr const char* no_shared_data =
    "the shared data are not here: put the folder 'shared' beside the project or name it in CHALKFOLD_SHARED";

}  // namespace chalkfold
