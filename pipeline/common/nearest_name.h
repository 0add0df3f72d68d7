// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace chalkfold {

/// Letters that must be put in, taken out, changed, or swapped with their neighbour to make `a` into `b` (V.
/// Levenshtein, "Binary codes capable of correcting deletions, insertions and reversals", 1966, with neighbour swaps).
/// Bytes, case ignored for ASCII letters.
std::size_t edit_distance(std::string_view a, std::string_view b);

/// The known name that was most likely meant, or empty when none is near enough: more than half of the longer name
/// would have to change. Of equally near names the first wins.
std::string nearest_name(std::string_view given, const std::vector<std::string>& known);

}  // namespace chalkfold
