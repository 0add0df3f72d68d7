// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "calib/page_canvas.h"
#include "pipeline/draft/piece/piece.h"
#include "pipeline/output/pages/piece_lines.h"

namespace chalkfold::output {

/// The words at the top of a file's first page, broken into lines for the canvas's width.
struct FirstWords {
  std::vector<std::string> gluing, workshop, airbag;
  /// mm, from the margin down, with the key to the lines
  double height = 0;
};

/// `cautious` adds what is to be known of airbags, `tiled` how pages are glued together.
FirstWords first_words(const calib::PageCanvas& canvas, bool cautious, bool tiled);
void draw_first_words(calib::PageCanvas& canvas, const FirstWords& words, const LineStyles& styles);

/// Check bar of 100 mm, what the piece is, the side shown, the page's name ("A1", or empty) and its number ("2 of 7").
void draw_foot(calib::PageCanvas& canvas, const draft::Piece& piece, const std::string& page_name,
               const std::string& page_number);

/// mm, from line to line of Lettering::label
inline constexpr double line_pitch = 4.2;

/// Words broken into lines of Lettering::label no wider than `room` mm; a word alone that is wider stays whole.
std::vector<std::string> wrapped(const calib::PageCanvas& canvas, const std::string& words, double room);

/// "flag, inside"
std::string pdf_title(const draft::Piece& piece);

}  // namespace chalkfold::output
