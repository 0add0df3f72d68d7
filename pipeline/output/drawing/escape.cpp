// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/drawing/escape.h"

#include <fmt/format.h>

#include "pipeline/common/utf8.h"

namespace chalkfold::output {

std::string markup_text(std::string_view bytes) {
  std::string out;
  for (const char c : plain_text(bytes)) {
    switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      case '\'':
        out += "&#39;";
        break;
      default:
        out += c;
    }
  }
  return out;
}

std::string markup_link(std::string_view path) {
  std::string out;
  for (const char c : path) {
    const bool letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
    if (letter || std::string_view("-._~/").find(c) != std::string_view::npos) {
      out += c;
    } else {
      out += fmt::format("%{:02X}", static_cast<unsigned char>(c));
    }
  }
  return out;
}

std::string dxf_text(std::string_view bytes) {
  std::string out;
  for (const char32_t c : code_points(plain_text(bytes))) {
    std::string next;
    if (c > 0xFFFF) {
      next = "?";
    } else if (c >= 0x7F || c == U'\\' || c == U'^' || c == U'%') {
      next = fmt::format("\\U+{:04X}", static_cast<unsigned>(c));
    } else {
      next = static_cast<char>(c);
    }
    if (out.size() + next.size() > dxf_text_max) break;
    out += next;
  }
  return out;
}

}  // namespace chalkfold::output
