// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>
#include <span>

namespace chalkfold::capture {

enum class ImageFormat { jpeg, png, tiff, webp, heif };

/// What a file is by its first bytes, whatever its name says; 32 bytes are enough. `heif` stands for the whole family
/// (HEIC, AVIF).
std::optional<ImageFormat> format_of(std::span<const std::uint8_t> bytes);

/// What can be told of a picture without decoding it.
struct ImageHeader {
  /// px as stored, before any turn; above 0
  std::int64_t width = 0, height = 0;
  /// the EXIF block inside the bytes given, or empty; always empty for TIFF
  std::span<const std::uint8_t> exif;
  /// a camera's raw file (DNG), of which only a small preview would be decoded
  bool raw_sensor_data = false;
};

/// Reads a JPEG, PNG, TIFF or WebP header by walking the file's own segments, with nothing allocated by what the file
/// claims. Nothing when the header is cut short or malformed, and for HEIF (see heif_reader.h).
std::optional<ImageHeader> read_image_header(ImageFormat format, std::span<const std::uint8_t> bytes);

}  // namespace chalkfold::capture
