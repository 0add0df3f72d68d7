// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/piece/lettering.h"

#include <algorithm>
#include <cmath>

#include "pipeline/common/utf8.h"
#include "pipeline/draft/piece/letter_shapes.h"

namespace chalkfold::draft {

namespace {
constexpr int space_width = 1;   // lattice units
constexpr int small_height = 6;  // lattice units, of letters without ascenders
constexpr int accent_gap = 1;    // lattice units between a letter and the accent over it
constexpr int accent_width = 2;  // lattice units
constexpr int curve_parts = 6;   // chords a quadratic: 0.03 mm off for letters of 8 mm, less than any pen's line
constexpr LetterShape box{0, 5, "0009595000"};
constexpr char32_t cedilla = 0x0327, ogonek = 0x0328;

int lattice_value(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  return c >= 'A' && c <= 'C' ? 10 + c - 'A' : 'a' - 1 - c;
}

/// Strokes of a shape, lattice units, moved by `shift`.
void add_strokes(std::vector<Polyline>& strokes, std::string_view text, const Vec2& shift) {
  Polyline stroke;
  bool is_control = false;
  std::optional<Vec2> control;
  for (std::size_t i = 0; i < text.size();) {
    if (text[i] == ' ') {
      strokes.push_back(std::move(stroke));
      stroke.clear();
      ++i;
      continue;
    }
    if (text[i] == '(') {
      is_control = true;
      ++i;
    }
    const Vec2 p = shift + Vec2(lattice_value(text[i]), lattice_value(text[i + 1]));
    i += 2;
    if (is_control) {
      control = p;
      is_control = false;
    } else if (control) {
      const Vec2 from = stroke.back();
      for (int k = 1; k <= curve_parts; ++k) {
        const double t = static_cast<double>(k) / curve_parts, u = 1 - t;
        stroke.push_back(u * u * from + 2 * u * t * *control + t * t * p);
      }
      control.reset();
    } else {
      stroke.push_back(p);
    }
  }
  strokes.push_back(std::move(stroke));
}

bool is_tall(char32_t letter) {
  if (letter >= U'a' && letter <= U'z')
    return std::u32string_view(U"bdfhklt").find(letter) != std::u32string_view::npos;
  return letter != 0x0131 && letter != 0x00F8;
}

/// The code points, letters with accents taken apart, so that both ways of writing them come out alike.
std::u32string taken_apart(std::string_view utf8) {
  std::u32string points;
  for (const char32_t c : code_points(plain_text(utf8))) {
    const auto parts = decomposed(c);
    if (parts) {
      points += {parts->letter, parts->combining};
    } else {
      points.push_back(c);
    }
  }
  return points;
}

/// A whole line on the lattice, its first letter at x = 0.
struct SetLine {
  std::vector<Polyline> strokes;
  int width = 0;
};

SetLine set_line(std::string_view utf8) {
  const std::u32string points = taken_apart(utf8);
  SetLine line;
  int x = 0, left = 0, width = 0;  // of the last letter set
  char32_t base = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const char32_t c = points[i];
    const auto accent = base != 0 ? accent_shape(c) : std::nullopt;
    if (accent) {
      const bool below = c == cedilla || c == ogonek;
      const int y = below ? 0 : (is_tall(base) ? capital_height : small_height) + accent_gap;
      add_strokes(line.strokes, accent->strokes, Vec2(left + 0.5 * (width - accent_width), y));
      continue;
    }
    if (c == U' ' || c == 0x00A0) {
      width = space_width;
      base = 0;
    } else {
      // An i loses its dot to the accent over it.
      const bool accented = i + 1 < points.size() && accent_shape(points[i + 1]) && points[i + 1] != ogonek;
      const LetterShape shape = letter_shape(c == U'i' && accented ? char32_t{0x0131} : c).value_or(box);
      add_strokes(line.strokes, shape.strokes, Vec2(x, 0));
      width = shape.width;
      base = c;
    }
    left = x;
    line.width = x + width;
    x = line.width + letter_gap;
  }
  return line;
}
}  // namespace

double text_length(std::string_view utf8, double height) { return height / capital_height * set_line(utf8).width; }

std::vector<Polyline> strokes_of(const PieceLabel& label) {
  std::vector<Polyline> strokes = set_line(label.words).strokes;
  const double scale = label.height / capital_height;
  const Vec2 along(std::cos(label.angle), std::sin(label.angle)), up(-along.y(), along.x());
  for (Polyline& stroke : strokes) {
    for (Vec2& p : stroke) p = label.at + scale * (p.x() * along + p.y() * up);
  }
  return strokes;
}

}  // namespace chalkfold::draft
