// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "calib/page_canvas.h"
#include "pipeline/draft/piece.h"
#include "pipeline/output/piece_lines.h"

namespace chalkfold {

/// The words at the top of a file's first page, broken into lines for the canvas's width.
struct FirstWords {
  std::vector<std::string> gluing, workshop, airbag;
  double height = 0;  ///< mm, from the margin down, with the key to the lines
};

/// `cautious` adds what is to be known of airbags, `tiled` how pages are glued together.
FirstWords first_words(const PageCanvas& canvas, bool cautious, bool tiled);
void draw_first_words(PageCanvas& canvas, const FirstWords& words, const LineStyles& styles);

/// Check bar of 100 mm, what the piece is, the side shown, the page's name ("A1", or empty) and its number ("2 of 7").
void draw_foot(PageCanvas& canvas, const Piece& piece, const std::string& page_name, const std::string& page_number);

inline constexpr double line_pitch = 4.2;  ///< mm, from line to line of Lettering::label

/// Words broken into lines of Lettering::label no wider than `room` mm; a word alone that is wider stays whole.
std::vector<std::string> wrapped(const PageCanvas& canvas, const std::string& words, double room);

/// "flag, inside"
std::string pdf_title(const Piece& piece);

}  // namespace chalkfold
