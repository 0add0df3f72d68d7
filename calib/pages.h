// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "calib/page_canvas.h"

namespace chalkfold::calib {

// The three kinds of page in the file that `chalkfold sheets` writes. Each draws on the canvas's current page and
// leaves it open.

/// what a printer may leave white along each edge of the paper
inline constexpr double unprintable_margin = 5.0;
/// kept white around the board, so that its rim is read against paper
inline constexpr double quiet_zone = 5.0;
/// check bar with its marks and numbers; fits below the board on Letter
inline constexpr double ruler_depth = 3.7;
inline constexpr int tag_columns = 3;
inline constexpr int tag_rows = 4;
inline constexpr int tags_per_page = tag_columns * tag_rows;

/// How to print, measure, lay and photograph, in pictures.
void draw_guide_page(PageCanvas& canvas);

/// Sheet `number` (1..20) as sheet_layout.h defines it, centred on the page, with the two check bars, the four marks
/// that point at the board's centre, and its number.
void draw_sheet_page(PageCanvas& canvas, int number);

/// Tags first..last (at most tags_per_page of them) on cards to cut apart.
void draw_tag_page(PageCanvas& canvas, int first, int last);

/// Adds the black cells of an upright marker to the canvas's boxes (see PageCanvas::add_box).
void add_marker_boxes(PageCanvas& canvas, int id, const Vec2& min, double side);

}  // namespace chalkfold::calib
