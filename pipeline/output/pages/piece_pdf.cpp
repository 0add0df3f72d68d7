// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/pages/piece_pdf.h"

#include <fmt/format.h>

#include <algorithm>
#include <numbers>

#include "calib/actual_size.h"
#include "pipeline/common/require.h"
#include "pipeline/output/drawing/piece_drawing.h"
#include "pipeline/output/pages/pdf_words.h"
#include "pipeline/output/pages/piece_lines.h"

namespace chalkfold::output {

namespace {
constexpr double crop_gap = 0.5, crop_length = 2.5;  // mm; together they stay in the printable part of the margin
constexpr double guide_width = 0.15;                 // mm, of lines that only guide the gluing
constexpr double cross = 2;                          // mm, half an arm of a gluing cross
constexpr double words_at = 0.12;                    // share of a side, where a piece's axis seldom runs
constexpr calib::PageInk guide_ink = calib::PageInk::pencil;

/// What all pages of a file share.
struct Job {
  const draft::Piece& piece;
  const PdfPages& pages;
  const PdfLayout& layout;
  const FirstWords& words;
  LineStyles styles;
  int page_count = 1;
};

const PdfTile* tile_at(const PdfLayout& layout, int row, int column) {
  if (row < 0 || column < 0 || row >= layout.rows || column >= layout.columns) return nullptr;
  const PdfTile& tile = layout.tiles[static_cast<std::size_t>(row) * static_cast<std::size_t>(layout.columns) +
                                     static_cast<std::size_t>(column)];
  return tile.empty ? nullptr : &tile;
}

/// Outside the tile's corners, in line with its sides.
void draw_crop_marks(calib::PageCanvas& canvas, const Vec2& min, const Vec2& max) {
  for (const double x : {min.x(), max.x()}) {
    for (const double y : {min.y(), max.y()}) {
      const double out_x = x == min.x() ? -1 : 1, out_y = y == min.y() ? -1 : 1;
      canvas.line({x + out_x * crop_gap, y}, {x + out_x * (crop_gap + crop_length), y}, guide_width);
      canvas.line({x, y + out_y * crop_gap}, {x, y + out_y * (crop_gap + crop_length)}, guide_width);
    }
  }
}

void draw_cross(calib::PageCanvas& canvas, const Vec2& at) {
  canvas.path({at - Vec2(cross, 0), at + Vec2(cross, 0)}, {guide_width, {}, guide_ink});
  canvas.path({at - Vec2(0, cross), at + Vec2(0, cross)}, {guide_width, {}, guide_ink});
}

/// Where the neighbours' pages are laid: a dashed line for the edge of the next one to the right and below, and crosses that both
/// pages have, in the middle of the shared strip.
void draw_gluing(calib::PageCanvas& canvas, const PdfLayout& layout, const PdfTile& tile, double overlap,
                 const Vec2& min, const Vec2& max) {
  const calib::Pen edge{guide_width, {1, 1}, guide_ink};
  const Vec2 size = max - min;
  const auto at_side = [&](bool upright, double place, const PdfTile* neighbour, bool next) {
    if (!neighbour || overlap <= 0) return;
    const double line = next ? place - overlap : place + overlap, middle = 0.5 * (line + place);
    if (next && upright) canvas.path({{line, min.y()}, {line, max.y()}}, edge);
    if (next && !upright) canvas.path({{min.x(), line}, {max.x(), line}}, edge);
    for (const double share : {0.25, 0.75}) {
      draw_cross(canvas, upright ? Vec2(middle, min.y() + share * size.y()) : Vec2(min.x() + share * size.x(), middle));
    }
    if (!next) return;
    const calib::PageCanvas::Placed words(
        canvas, upright ? Vec2(line + 3, min.y() + words_at * size.y()) : Vec2(min.x() + words_at * size.x(), line + 3),
        upright ? std::numbers::pi / 2 : 0);
    canvas.text({0, 0}, fmt::format("edge of {} here", neighbour->name), calib::Lettering::small, calib::Align::centre,
                guide_ink);
  };
  at_side(true, max.x(), tile_at(layout, tile.row, tile.column + 1), true);
  at_side(true, min.x(), tile_at(layout, tile.row, tile.column - 1), false);
  at_side(false, max.y(), tile_at(layout, tile.row + 1, tile.column), true);
  at_side(false, min.y(), tile_at(layout, tile.row - 1, tile.column), false);
}

void draw_tile_page(calib::PageCanvas& canvas, const Job& job, const PdfTile& tile, int page_number) {
  canvas.resize(job.layout.page.x(), job.layout.page.y());
  const Vec2 min(page_margin, page_margin + (job.layout.whole ? job.words.height : 0)), max = min + tile.box.size();
  {
    const calib::PageCanvas::Clipped clip(canvas, min, max);
    const PieceOnPage on_page{job.layout.turned, {tile.box.min.x(), tile.box.max.y()}, min, 1};
    draw_piece(canvas, job.piece, on_page, job.styles, {min, max}, true);
  }
  if (job.layout.whole) {
    draw_first_words(canvas, job.words, job.styles);
    draw_foot(canvas, job.piece, "", "1 of 1");
    return;
  }
  draw_crop_marks(canvas, min, max);
  draw_gluing(canvas, job.layout, tile, job.pages.overlap, min, max);
  draw_foot(canvas, job.piece, tile.name, fmt::format("{} of {}", page_number, job.page_count));
}

/// At a cell's upper left corner, on white, so that the piece's lines do not run through it.
void draw_map_name(calib::PageCanvas& canvas, const Vec2& corner, const std::string& name) {
  const Vec2 min = corner + Vec2(0.4, 0.4),
             max = min + Vec2(canvas.text_width(name, calib::Lettering::heading) + 1.2, 4.4);
  canvas.fill({min, {max.x(), min.y()}, max, {min.x(), max.y()}}, calib::PageInk::white);
  canvas.text(corner + Vec2(1, 4), name, calib::Lettering::heading);
}

void draw_map_page(calib::PageCanvas& canvas, const Job& job) {
  const Vec2 size = paper_size(job.pages);
  canvas.resize(size.x(), size.y());
  draw_first_words(canvas, job.words, job.styles);
  geometry::Box all;
  for (const PdfTile& tile : job.layout.tiles) {
    all.add(tile.box.min);
    all.add(tile.box.max);
  }
  const Vec2 room = size - Vec2(2 * page_margin, 2 * page_margin + page_foot + job.words.height);
  const double scale = (room.array() / all.size().array()).minCoeff();
  const Vec2 at(page_margin + 0.5 * (room.x() - scale * all.size().x()), page_margin + job.words.height);
  const PieceOnPage on_page{job.layout.turned, {all.min.x(), all.max.y()}, at, scale};
  const auto placed = [&](const Vec2& p) -> Vec2 {
    return at + scale * (geometry::y_down_from_y_up(p, all.max.y()) - Vec2(all.min.x(), 0));
  };
  for (const PdfTile& tile : job.layout.tiles) {
    const Vec2 a = placed(tile.cell.min), b = placed(tile.cell.max);
    const Polyline cell = {a, {b.x(), a.y()}, b, {a.x(), b.y()}};
    if (tile.empty) canvas.fill(cell, calib::PageInk::grey);
    canvas.path(cell, {guide_width, {}, guide_ink}, true);
  }
  draw_piece(canvas, job.piece, on_page, job.styles, {Vec2::Zero(), size}, false);
  for (const PdfTile& tile : job.layout.tiles) {
    if (!tile.empty) draw_map_name(canvas, placed({tile.cell.min.x(), tile.cell.max.y()}), tile.name);
  }
  draw_foot(canvas, job.piece, "map", fmt::format("1 of {}", job.page_count));
}
}  // namespace

std::string piece_pdf(const draft::Piece& piece, const PdfPages& pages) {
  check(pages);
  require_at_least("points of the cut line", piece.cut_line.size(), 3);
  const draft::Piece shown = shown_piece(piece, pages.face);
  const Vec2 size = paper_size(pages);
  calib::PageCanvas canvas(size.x(), size.y(), pdf_title(shown));
  const bool cautious = pages.seat_side || may_cover_airbag(shown);
  FirstWords words = first_words(canvas, cautious, false);
  const PdfLayout layout = pdf_layout(shown.cut_line, pages, words.height);
  if (!layout.whole) words = first_words(canvas, cautious, true);
  const auto used = std::count_if(layout.tiles.begin(), layout.tiles.end(), [](const PdfTile& t) { return !t.empty; });
  const Job job{shown, pages, layout, words, line_styles(pages.line), static_cast<int>(used) + (layout.whole ? 0 : 1)};
  int page = 0;
  if (!layout.whole) {
    draw_map_page(canvas, job);
    canvas.end_page();
    ++page;
  }
  for (const PdfTile& tile : layout.tiles) {
    if (tile.empty) continue;
    draw_tile_page(canvas, job, tile, ++page);
    canvas.end_page();
  }
  return calib::ask_for_actual_size(canvas.finish());
}

}  // namespace chalkfold::output
