// SPDX-License-Identifier: Apache-2.0
#include "pipeline/capture/image_header.h"

#include <algorithm>
#include <string_view>

#include "pipeline/capture/tiff_directory.h"

namespace chalkfold::capture {
namespace {

using Bytes = std::span<const std::uint8_t>;

bool starts_with(Bytes bytes, std::string_view text, std::size_t offset = 0) {
  return bytes.size() >= offset + text.size() &&
         std::equal(text.begin(), text.end(), bytes.begin() + static_cast<std::ptrdiff_t>(offset),
                    [](char a, std::uint8_t b) { return static_cast<std::uint8_t>(a) == b; });
}

/// Unsigned number of `count` bytes, most significant first; the caller has checked that they are there.
std::int64_t big_endian(Bytes bytes, std::size_t offset, std::size_t count) {
  std::int64_t value = 0;
  for (std::size_t i = 0; i < count; ++i) value = value << 8 | bytes[offset + i];
  return value;
}

/// The same, least significant first.
std::int64_t little_endian(Bytes bytes, std::size_t offset, std::size_t count) {
  std::int64_t value = 0;
  for (std::size_t i = count; i-- > 0;) value = value << 8 | bytes[offset + i];
  return value;
}

/// What was found, if it is a picture at all.
std::optional<ImageHeader> checked(const ImageHeader& header) {
  return header.width > 0 && header.height > 0 ? std::optional(header) : std::nullopt;
}

/// Markers that carry the picture's size: every SOFn, but for the table markers DHT, JPG and DAC that lie among them.
bool is_frame_marker(std::uint8_t marker) {
  return marker >= 0xC0 && marker <= 0xCF && marker != 0xC4 && marker != 0xC8 && marker != 0xCC;
}

/// Segments up to the frame header: marker FF xx, then a length that counts itself (ITU-T T.81, annex B).
std::optional<ImageHeader> jpeg_header(Bytes bytes) {
  using namespace std::string_view_literals;
  constexpr std::string_view exif_prefix = "Exif\0\0"sv;
  ImageHeader header;
  std::size_t at = 2;
  while (at + 4 <= bytes.size()) {
    if (bytes[at] != 0xFF) return std::nullopt;
    const std::uint8_t marker = bytes[at + 1];
    if (marker == 0xFF) {  // fill byte before a marker
      ++at;
      continue;
    }
    const auto length = static_cast<std::size_t>(big_endian(bytes, at + 2, 2));
    const Bytes segment = bytes.subspan(at + 4, std::min(bytes.size() - at - 4, length < 2 ? 0 : length - 2));
    if (is_frame_marker(marker)) {
      if (segment.size() < 5) return std::nullopt;
      header.height = big_endian(segment, 1, 2);
      header.width = big_endian(segment, 3, 2);
      return checked(header);
    }
    if (marker == 0xE1 && header.exif.empty() && starts_with(segment, exif_prefix)) header.exif = segment;
    if (marker == 0xDA || marker == 0xD9 || length < 2) return std::nullopt;
    at += 2 + length;
  }
  return std::nullopt;
}

/// IHDR comes first; eXIf may stand before or after the picture data (PNG specification, third edition).
std::optional<ImageHeader> png_header(Bytes bytes) {
  constexpr std::size_t signature_bytes = 8, chunk_frame_bytes = 12;  // length, type and checksum around a chunk's data
  if (bytes.size() < 33 || !starts_with(bytes, "IHDR", 12)) return std::nullopt;
  ImageHeader header;
  header.width = big_endian(bytes, 16, 4);
  header.height = big_endian(bytes, 20, 4);
  std::size_t at = signature_bytes;
  while (at + chunk_frame_bytes <= bytes.size()) {
    const auto length = static_cast<std::size_t>(big_endian(bytes, at, 4));
    if (length > bytes.size() - at - chunk_frame_bytes) break;
    if (starts_with(bytes, "eXIf", at + 4)) header.exif = bytes.subspan(at + 8, length);
    at += chunk_frame_bytes + length;
  }
  return checked(header);
}

std::optional<ImageHeader> tiff_header(Bytes bytes) {
  constexpr std::uint16_t image_width = 256, image_length = 257, dng_version = 50706;
  const auto directory = TiffDirectory::first(bytes);
  if (!directory) return std::nullopt;
  ImageHeader header;
  header.width = directory->number(image_width).value_or(0);
  header.height = directory->number(image_length).value_or(0);
  header.raw_sensor_data = directory->has(dng_version);
  return checked(header);
}

/// Size from one RIFF chunk of a WebP file: VP8X (canvas), VP8 (lossy) or VP8L (lossless); RFC 9649.
void read_webp_size(std::string_view type, Bytes chunk, ImageHeader& header) {
  constexpr std::uint8_t lossless_signature = 0x2F;
  constexpr std::int64_t size_mask = 0x3FFF;  // 14 bits
  if (type == "VP8X" && chunk.size() >= 10) {
    header.width = little_endian(chunk, 4, 3) + 1;
    header.height = little_endian(chunk, 7, 3) + 1;
  } else if (type == "VP8 " && chunk.size() >= 10) {
    header.width = little_endian(chunk, 6, 2) & size_mask;
    header.height = little_endian(chunk, 8, 2) & size_mask;
  } else if (type == "VP8L" && chunk.size() >= 5 && chunk[0] == lossless_signature) {
    const std::int64_t bits = little_endian(chunk, 1, 4);
    header.width = (bits & size_mask) + 1;
    header.height = (bits >> 14 & size_mask) + 1;
  }
}

std::optional<ImageHeader> webp_header(Bytes bytes) {
  ImageHeader header;
  std::size_t at = 12;
  while (at + 8 <= bytes.size()) {
    const auto length = static_cast<std::size_t>(little_endian(bytes, at + 4, 4));
    const Bytes chunk = bytes.subspan(at + 8, std::min(length, bytes.size() - at - 8));
    const std::string_view type(reinterpret_cast<const char*>(bytes.data()) + at, 4);
    if (header.width == 0) read_webp_size(type, chunk, header);
    if (type == "EXIF") header.exif = chunk;
    at += 8 + length + length % 2;
  }
  return checked(header);
}

/// An ISO base media file whose brand is a still picture's (ISO/IEC 23008-12, AVIF); films share the container.
bool is_heif(Bytes bytes) {
  if (!starts_with(bytes, "ftyp", 4)) return false;
  constexpr std::string_view brands[] = {"heic", "heix", "heim", "heis", "mif1", "mif2", "avif"};
  return std::any_of(std::begin(brands), std::end(brands),
                     [&](std::string_view b) { return starts_with(bytes, b, 8); });
}

}  // namespace

std::optional<ImageFormat> format_of(Bytes bytes) {
  using namespace std::string_view_literals;
  if (starts_with(bytes, "\xFF\xD8\xFF"sv)) return ImageFormat::jpeg;
  if (starts_with(bytes, "\x89PNG\r\n\x1A\n"sv)) return ImageFormat::png;
  if (starts_with(bytes, "II\x2A\0"sv) || starts_with(bytes, "MM\0\x2A"sv)) return ImageFormat::tiff;
  if (starts_with(bytes, "RIFF") && starts_with(bytes, "WEBP", 8)) return ImageFormat::webp;
  if (is_heif(bytes)) return ImageFormat::heif;
  return std::nullopt;
}

std::optional<ImageHeader> read_image_header(ImageFormat format, Bytes bytes) {
  switch (format) {
    case ImageFormat::jpeg:
      return jpeg_header(bytes);
    case ImageFormat::png:
      return png_header(bytes);
    case ImageFormat::tiff:
      return tiff_header(bytes);
    case ImageFormat::webp:
      return webp_header(bytes);
    case ImageFormat::heif:
      return std::nullopt;
  }
  return std::nullopt;
}

}  // namespace chalkfold::capture
