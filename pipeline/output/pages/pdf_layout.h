// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "pipeline/geometry/polygon.h"

namespace chalkfold::output {

enum class PdfPaper { a4, letter, a3, roll };

/// How a piece is printed. mm.
struct PdfPages {
  PdfPaper paper = PdfPaper::a4;
  /// of PdfPaper::roll, 150..5000; the default is a common plotter's (36 in, common practice, no source)
  double roll_width = 914;
  /// that neighbouring pages share, 0..50
  double overlap = 10;
  /// width of the cut line, 0.05..2
  double line = 0.35;
  /// show the face, whichever side the piece shows
  bool face = false;
  /// print the cautions for a seat's side, whatever the piece is called
  bool seat_side = false;
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const PdfPages& options);

/// Margin that stays white but for crop marks: printers leave 5 mm (calib/pages.h), the marks want 3.
inline constexpr double page_margin = 8;
/// Strip at the foot of every page: check bar and what the page shows.
inline constexpr double page_foot = 20;
inline constexpr double pdf_check_bar = 100;
/// PDF 1.4 has pages of 14400 pt at the most
inline constexpr double page_length_max = 5000;

/// The part of the piece that one page shows, in the frame of the pages: mm, y up, the piece's frame or that turned.
struct PdfTile {
  /// from the top left
  int row = 0, column = 0;
  /// "A1": a letter for the row, a number for the column
  std::string name;
  /// with the overlap
  geometry::Box box;
  /// its own share: half of each overlap is the neighbour's
  geometry::Box cell;
  /// nothing of the piece lies in the cell
  bool empty = false;
};

struct PdfLayout {
  /// a quarter turn counter-clockwise, to spare paper
  bool turned = false;
  /// one page shows it all, with the first page's words
  bool whole = false;
  /// size of a tile's page
  Vec2 page = Vec2::Zero();
  int rows = 1, columns = 1;
  /// row by row, the empty ones included
  std::vector<PdfTile> tiles;
};

/// Lays the piece's cut line (closed, with all else inside it) on pages. `words` is the height that the first page needs
/// for its words. A piece that fits between them is put whole on one page, turned if need be; otherwise it is cut into
/// tiles, moved and turned so that they are few, and the words go on a page of their own. Throws UsageError for options
/// out of bounds and a piece over 10 m.
PdfLayout pdf_layout(const Polyline& cut_line, const PdfPages& pages, double words);

/// Size of a page of cut paper; of a roll, its width and A4's height, for the map.
Vec2 paper_size(const PdfPages& pages);

/// A piece's point in the frame of the pages.
inline Vec2 in_pages_frame(const Vec2& in_piece, bool turned) {
  return turned ? Vec2(-in_piece.y(), in_piece.x()) : in_piece;
}

}  // namespace chalkfold::output
