// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <span>

#include "pipeline/capture/photo.h"

namespace chalkfold::capture {

/// Reads an EXIF block: a small TIFF structure, with or without the leading "Exif\0\0". What the block does not say, or
/// says wrongly, stays at PhotoExif's defaults. Orientation outside 1..8 becomes 1. Names are cut to printable ASCII,
/// so that they may go into any output.
PhotoExif read_exif(std::span<const std::uint8_t> block);

/// The same from the directories of a whole TIFF file, in place: the file may be far larger than an EXIF block can be.
PhotoExif read_tiff_exif(std::span<const std::uint8_t> file);

}  // namespace chalkfold::capture
