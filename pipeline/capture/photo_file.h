// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <optional>
#include <vector>

#include "pipeline/capture/photo.h"
#include "pipeline/common/fault.h"

namespace chalkfold::capture {

/// Reads a file that may be a picture, once and whole. Reads only its first bytes when these are no picture's, and
/// nothing when it is larger than max_bytes. Otherwise nothing comes back and `faults` says why: photo-missing,
/// photo-unreadable, photo-not-a-picture, photo-too-large.
std::optional<std::vector<std::uint8_t>> read_photo_file(const std::filesystem::path& file, std::size_t max_bytes,
                                                         Faults& faults);

/// No picture within the pixel limit needs a larger file: 16-bit samples with alpha, and room for the short film some
/// phones append.
std::size_t largest_photo_file(const LoadOptions& options);

/// The name a file goes by in faults and results: its last part, also when the path ends with a slash.
std::string photo_name(const std::filesystem::path& file);

}  // namespace chalkfold::capture
