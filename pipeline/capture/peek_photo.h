// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <optional>
#include <string>

#include "pipeline/capture/photo.h"

namespace chalkfold::capture {

/// What can be told of a photo's file without decoding it.
struct PhotoPeek {
  /// of its bytes, lower-case hex
  std::string sha256;
  /// that it takes once decoded to 8 bits and three channels; 0 when its header does not tell
  long long pixel_bytes = 0;
};

/// Nothing when the file is no picture or cannot be read: load_photo tells why.
std::optional<PhotoPeek> peek_photo(const std::filesystem::path& file, const LoadOptions& options = {});

}  // namespace chalkfold::capture
