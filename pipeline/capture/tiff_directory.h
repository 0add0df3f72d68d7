// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <map>
#include <optional>
#include <span>
#include <string>

namespace chalkfold::capture {

/// One directory (IFD) of a TIFF file: the entries that name the picture's size, its turn and its camera.
/// Bounds are checked on every access; whatever lies outside the file reads as absent. Reference: TIFF revision 6.0.
class TiffDirectory {
 public:
  /// The file's first directory; nothing when the bytes do not begin like a TIFF file or the directory lies outside.
  static std::optional<TiffDirectory> first(std::span<const std::uint8_t> file);

  /// The directory at the offset that entry `tag` of this one holds (the EXIF directory, for one).
  std::optional<TiffDirectory> sub(std::uint16_t tag) const;

  bool has(std::uint16_t tag) const { return entries_.count(tag) > 0; }
  /// First value of a BYTE, SHORT or LONG entry.
  std::optional<std::uint32_t> number(std::uint16_t tag) const;
  /// First value of a RATIONAL entry; nothing when its denominator is 0.
  std::optional<double> rational(std::uint16_t tag) const;
  /// An ASCII entry, up to its first NUL; empty when there is none.
  std::string text(std::uint16_t tag) const;

 private:
  struct Entry {
    std::uint16_t type = 0;
    std::uint32_t count = 0;
    /// offset of the four bytes that hold the value or its offset
    std::size_t at = 0;
  };

  static std::optional<TiffDirectory> at(std::span<const std::uint8_t> file, bool big_endian, std::size_t offset);
  std::optional<std::uint32_t> read(std::size_t offset, int bytes) const;
  const Entry* find(std::uint16_t tag, std::uint16_t type) const;

  std::span<const std::uint8_t> file_;
  bool big_endian_ = false;
  std::map<std::uint16_t, Entry> entries_;
};

}  // namespace chalkfold::capture
