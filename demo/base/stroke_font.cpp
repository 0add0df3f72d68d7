// SPDX-License-Identifier: Apache-2.0
#include "demo/base/stroke_font.h"

#include <sstream>
#include <stdexcept>

namespace chalkfold::demo {

namespace {
/// Strokes separated by spaces; each point a column 0..4 (left to right) and a row 0..6 (bottom to top).
const char* glyph_code(char c) {
  switch (c) {
    case '0':
      return "160501103041453616";
    case '1':
      return "142620 1030";
    case '2':
      return "05163645440040";
    case '3':
      return "05163645443313 334241301001";
    case '4':
      return "30360242";
    case '5':
      return "460603334241301001";
    case '6':
      return "453616050110304142331302";
    case '7':
      return "064610";
    case '8':
      return "13040516364544331302011030414233";
    case '9':
      return "011030414536160504133344";
    case 'E':
      return "46060040 0333";
    case 'H':
      return "0006 4046 0343";
    case 'L':
      return "060040";
    case 'R':
      return "00063645443303 2340";
    case 'S':
      return "453616050413334241301001";
    case 'T':
      return "0646 2620";
    case 'U':
      return "060110304146";
    default:
      throw std::logic_error(std::string("no stroke glyph for '") + c + "'");
  }
}
}  // namespace

std::vector<Polyline> text_strokes(const std::string& text, double height) {
  std::vector<Polyline> out;
  double x = 0;
  for (const char c : text) {
    if (c != ' ') {
      std::istringstream strokes(glyph_code(c));
      for (std::string code; strokes >> code;) {
        Polyline line;
        for (std::size_t i = 0; i + 1 < code.size(); i += 2) {
          line.push_back({x + height * glyph_width * (code[i] - '0') / 4.0, height * (code[i + 1] - '0') / 6.0});
        }
        out.push_back(std::move(line));
      }
    }
    x += glyph_step * height;
  }
  return out;
}

}  // namespace chalkfold::demo
