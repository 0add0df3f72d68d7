// SPDX-License-Identifier: Apache-2.0
#include "pipeline/common/utf8.h"

namespace chalkfold {

namespace {
constexpr char32_t replacement = 0xFFFD;

unsigned byte_at(std::string_view s, std::size_t i) { return static_cast<unsigned char>(s[i]); }

bool is_surrogate(char32_t c) { return c >= 0xD800 && c <= 0xDFFF; }

bool is_control(char32_t c) { return c < 0x20 || (c >= 0x7F && c < 0xA0) || c == 0x2028 || c == 0x2029; }

bool turns_direction(char32_t c) {
  return c == 0x200E || c == 0x200F || (c >= 0x202A && c <= 0x202E) || (c >= 0x2066 && c <= 0x2069);
}

/// Length and value of the sequence that starts at i; length 1 and U+FFFD when it is not valid.
struct Sequence {
  std::size_t length;
  char32_t value;
};

Sequence sequence_at(std::string_view s, std::size_t i) {
  const unsigned first = byte_at(s, i);
  if (first < 0x80) return {1, first};
  const std::size_t length = first >= 0xF0 ? 4 : first >= 0xE0 ? 3 : 2;
  if (first < 0xC2 || first > 0xF4 || i + length > s.size()) return {1, replacement};
  char32_t value = first & (0x7Fu >> length);
  for (std::size_t k = 1; k < length; ++k) {
    if ((byte_at(s, i + k) & 0xC0u) != 0x80u) return {1, replacement};
    value = (value << 6) | (byte_at(s, i + k) & 0x3Fu);
  }
  const char32_t least = length == 4 ? 0x10000 : length == 3 ? 0x800 : 0x80;
  if (value < least || value > 0x10FFFF || is_surrogate(value)) return {1, replacement};
  return {length, value};
}
}  // namespace

std::u32string code_points(std::string_view utf8) {
  std::u32string points;
  for (std::size_t i = 0; i < utf8.size();) {
    const Sequence s = sequence_at(utf8, i);
    points.push_back(s.value);
    i += s.length;
  }
  return points;
}

std::string utf8_from(std::u32string_view points) {
  std::string out;
  for (char32_t c : points) {
    if (c > 0x10FFFF || is_surrogate(c)) c = replacement;
    if (c < 0x80) {
      out += static_cast<char>(c);
      continue;
    }
    const int more = c < 0x800 ? 1 : c < 0x10000 ? 2 : 3;
    out += static_cast<char>((0xFF00u >> (more + 1) & 0xFFu) | (c >> (6 * more)));
    for (int k = more - 1; k >= 0; --k) out += static_cast<char>(0x80u | (c >> (6 * k) & 0x3Fu));
  }
  return out;
}

std::string plain_text(std::string_view bytes) {
  std::u32string kept;
  for (char32_t c : code_points(bytes)) {
    if (!turns_direction(c)) kept.push_back(is_control(c) ? U' ' : c);
  }
  return utf8_from(kept);
}

}  // namespace chalkfold
