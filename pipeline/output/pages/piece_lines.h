// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "calib/page_canvas.h"
#include "pipeline/draft/piece/piece.h"
#include "pipeline/output/pages/pdf_layout.h"

namespace chalkfold::output {

/// Where a piece lands on a page.
struct PieceOnPage {
  bool turned = false;
  /// place in the frame of the pages (mm, y up)...
  Vec2 corner = Vec2::Zero();
  /// ... that lands here on the page (mm, y down)
  Vec2 at = Vec2::Zero();
  double scale = 1;
  Vec2 operator()(const Vec2& in_piece) const {
    const Vec2 p = in_pages_frame(in_piece, turned);
    return at + scale * (geometry::y_down_from_y_up(p, corner.y()) - Vec2(corner.x(), 0));
  }
};

/// The kinds of line on a page, told apart without colour.
struct LineStyles {
  calib::Pen cut, sew, axis, grain, marks, inside, letters;
};

/// Styles around a cut line of this width, mm.
LineStyles line_styles(double line);

/// Draws what the box `view` (page, mm) shows of cut and sew line, cut-outs, axis, grain, marks and holes; with `lettered` also the lines inside (check square)
/// and the labels, in single strokes.
void draw_piece(calib::PageCanvas& canvas, const draft::Piece& piece, const PieceOnPage& on_page,
                const LineStyles& styles, const geometry::Box& view, bool lettered);

/// A sample of every style with its name, from `at` to the right, at most `room` mm wide.
void draw_key(calib::PageCanvas& canvas, const Vec2& at, const LineStyles& styles, double room);

}  // namespace chalkfold::output
