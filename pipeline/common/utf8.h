// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <string_view>

namespace chalkfold {

/// Code points of a UTF-8 text. Every byte that is no part of valid UTF-8 (overlong forms and surrogates included)
/// becomes U+FFFD.
std::u32string code_points(std::string_view utf8);

/// The code points as UTF-8. Values that are no code points become U+FFFD.
std::string utf8_from(std::u32string_view points);

/// Text that is safe to print, to show and to store: valid UTF-8 without control characters (C0, DEL, C1; each becomes
/// a space) and without the characters that turn the direction of writing around. File names may hold any byte; nothing
/// past the job's door does.
std::string plain_text(std::string_view bytes);

}  // namespace chalkfold
