// SPDX-License-Identifier: Apache-2.0
#include "pipeline/capture/peek_photo.h"

#include "pipeline/capture/heif_reader.h"
#include "pipeline/capture/image_header.h"
#include "pipeline/capture/photo_file.h"
#include "pipeline/capture/sha256.h"

namespace chalkfold::capture {

std::optional<PhotoPeek> peek_photo(const std::filesystem::path& file, const LoadOptions& options) {
  try {
    Faults unused;
    const auto bytes = read_photo_file(file, largest_photo_file(options), unused);
    if (!bytes) return std::nullopt;
    PhotoPeek peek{sha256_hex(*bytes), 0};
    constexpr long long channels = 3;
    const auto format = format_of(*bytes);
    if (format == ImageFormat::heif) {
      const HeifPicture picture(*bytes);
      if (picture.is_open()) peek.pixel_bytes = channels * picture.width() * picture.height();
    } else if (const auto header = format ? read_image_header(*format, *bytes) : std::nullopt) {
      const double megapixels = static_cast<double>(header->width) * static_cast<double>(header->height) / 1e6;
      // A larger one is refused before it is decoded.
      if (megapixels <= options.max_megapixels) peek.pixel_bytes = channels * header->width * header->height;
    }
    return peek;
  } catch (const std::exception&) {
    return std::nullopt;
  }
}

}  // namespace chalkfold::capture
