// SPDX-License-Identifier: Apache-2.0
#include "pipeline/capture/tiff_directory.h"

#include <algorithm>

namespace chalkfold::capture {
namespace {

constexpr std::uint16_t type_byte = 1, type_ascii = 2, type_short = 3, type_long = 4, type_rational = 5;
constexpr std::size_t entry_bytes = 12, inline_bytes = 4;
constexpr std::uint32_t max_text = 200;  // a camera's name is shorter; the rest is not worth carrying

}  // namespace

std::optional<TiffDirectory> TiffDirectory::first(std::span<const std::uint8_t> file) {
  if (file.size() < 8) return std::nullopt;
  const bool little = file[0] == 'I' && file[1] == 'I' && file[2] == 42 && file[3] == 0;
  const bool big = file[0] == 'M' && file[1] == 'M' && file[2] == 0 && file[3] == 42;
  if (!little && !big) return std::nullopt;
  TiffDirectory header;
  header.file_ = file;
  header.big_endian_ = big;
  return at(file, big, *header.read(4, 4));
}

std::optional<TiffDirectory> TiffDirectory::at(std::span<const std::uint8_t> file, bool big_endian,
                                               std::size_t offset) {
  TiffDirectory directory;
  directory.file_ = file;
  directory.big_endian_ = big_endian;
  const auto count = directory.read(offset, 2);
  if (!count) return std::nullopt;
  for (std::uint32_t i = 0; i < *count; ++i) {
    const std::size_t at_entry = offset + 2 + i * entry_bytes;
    if (at_entry + entry_bytes > file.size()) break;  // keep what can be read of a truncated directory
    const Entry entry{static_cast<std::uint16_t>(*directory.read(at_entry + 2, 2)), *directory.read(at_entry + 4, 4),
                      at_entry + 8};
    directory.entries_.emplace(static_cast<std::uint16_t>(*directory.read(at_entry, 2)), entry);
  }
  return directory;
}

std::optional<std::uint32_t> TiffDirectory::read(std::size_t offset, int bytes) const {
  if (offset > file_.size() || file_.size() - offset < static_cast<std::size_t>(bytes)) return std::nullopt;
  std::uint32_t value = 0;
  for (int i = 0; i < bytes; ++i) {
    const std::uint32_t byte = file_[offset + static_cast<std::size_t>(i)];
    value |= byte << (8 * (big_endian_ ? bytes - 1 - i : i));
  }
  return value;
}

const TiffDirectory::Entry* TiffDirectory::find(std::uint16_t tag, std::uint16_t type) const {
  const auto found = entries_.find(tag);
  return found != entries_.end() && found->second.type == type && found->second.count > 0 ? &found->second : nullptr;
}

std::optional<std::uint32_t> TiffDirectory::number(std::uint16_t tag) const {
  // More values than fit the four bytes are kept elsewhere; no tag asked for here has more than one.
  if (const Entry* e = find(tag, type_long); e && e->count == 1) return read(e->at, 4);
  if (const Entry* e = find(tag, type_short); e && e->count <= 2) return read(e->at, 2);
  if (const Entry* e = find(tag, type_byte); e && e->count <= 4) return read(e->at, 1);
  return std::nullopt;
}

std::optional<double> TiffDirectory::rational(std::uint16_t tag) const {
  const Entry* entry = find(tag, type_rational);
  if (!entry) return std::nullopt;
  const std::size_t offset = *read(entry->at, 4);
  const auto numerator = read(offset, 4), denominator = read(offset + 4, 4);
  if (!numerator || !denominator || *denominator == 0) return std::nullopt;
  return static_cast<double>(*numerator) / *denominator;
}

std::string TiffDirectory::text(std::uint16_t tag) const {
  const Entry* entry = find(tag, type_ascii);
  if (!entry) return {};
  const std::size_t offset = entry->count <= inline_bytes ? entry->at : *read(entry->at, 4);
  std::string text;
  for (std::size_t i = 0; i < std::min(entry->count, max_text); ++i) {
    const auto letter = read(offset + i, 1);
    if (!letter || *letter == 0) break;
    text += static_cast<char>(*letter);
  }
  return text;
}

std::optional<TiffDirectory> TiffDirectory::sub(std::uint16_t tag) const {
  const auto offset = number(tag);
  return offset ? at(file_, big_endian_, *offset) : std::nullopt;
}

}  // namespace chalkfold::capture
