// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <string_view>

namespace chalkfold::output {

/// Text for HTML and XML, in elements and in quoted attributes: & < > " ' become references, control characters spaces,
/// bad UTF-8 U+FFFD.
std::string markup_text(std::string_view bytes);

/// Relative link in a quoted HTML attribute: every byte but letters, digits and -._~/ becomes %XX.
std::string markup_link(std::string_view path);

/// Text for an R12 DXF string: printable ASCII only. Other code points become \U+XXXX (beyond U+FFFF, which R12 cannot
/// name, a question mark), and so do the characters that DXF reads as commands: backslash, caret and percent. Cut after
/// `dxf_text_max` bytes, never inside an escape.
std::string dxf_text(std::string_view bytes);

/// bytes; R12 takes lines of 255
inline constexpr std::size_t dxf_text_max = 250;

}  // namespace chalkfold::output
