// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string_view>

namespace chalkfold::draft {

/// A letter on a lattice in which capitals are 9 high, small letters 6, and the baseline is 0. `strokes` holds strokes
/// parted by spaces; a stroke is points of two characters, x (0..9) and y (0..9, A B C for 10 11 12, a b c for -1 -2 -3).
/// A '(' before a point makes it the control point of a quadratic curve from the point before it to the one after it.
struct LetterShape {
  char32_t letter = 0;
  /// lattice units, 0 for a single upright stroke
  int width = 0;
  std::string_view strokes;
};

/// lattice units
inline constexpr int capital_height = 9;
/// lattice units between letters
inline constexpr int letter_gap = 2;

/// Shape of a code point that has one of its own, without accents.
std::optional<LetterShape> letter_shape(char32_t letter);

/// Shape of a combining mark, 2 wide, standing on y = 0 above a letter (a cedilla hangs from y = 0).
std::optional<LetterShape> accent_shape(char32_t combining);

/// A letter with an accent as letter and combining mark; nullopt when it is none.
struct AccentedLetter {
  char32_t composed = 0, letter = 0, combining = 0;
};
std::optional<AccentedLetter> decomposed(char32_t composed);

/// Every shape there is, in order of code points: for tests and specimen sheets.
std::span<const LetterShape> letter_shapes();

}  // namespace chalkfold::draft
