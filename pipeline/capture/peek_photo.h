// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <optional>
#include <string>

#include "pipeline/capture/photo.h"

namespace chalkfold {

/// What can be told of a photo's file without decoding it.
struct PhotoPeek {
  std::string sha256;  ///< of its bytes, lower-case hex
  long long pixel_bytes =
      0;  ///< that it takes once decoded to 8 bits and three channels; 0 when its header does not tell
};

/// Nothing when the file is no picture or cannot be read: load_photo tells why.
std::optional<PhotoPeek> peek_photo(const std::filesystem::path& file, const LoadOptions& options = {});

}  // namespace chalkfold
