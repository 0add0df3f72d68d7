// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <numbers>

#include "calib/marker_bits.h"
#include "calib/pages.h"
#include "calib/sheet_layout.h"
#include "pipeline/geometry/polygon.h"

namespace chalkfold::calib {

namespace {
constexpr double fine_line = 0.15;  // about 2 dots at 300 dpi: thin enough to set a rule on, thick enough to print
constexpr double end_line = 0.25;
constexpr double tick_1 = 1.0, tick_5 = 1.5, tick_10 = 2.0;
constexpr double number_gap = 0.2;
constexpr double quarter_turn = std::numbers::pi / 2;

/// Page place of a place in the sheet frame, which has y up and its origin at the board's centre.
Vec2 page_from_sheet(const PageCanvas& canvas, const Vec2& p_in_sheet) {
  return geometry::y_down_from_y_up(p_in_sheet, canvas.height() / 2) + Vec2(canvas.width() / 2, 0);
}

void draw_board(PageCanvas& canvas, int number) {
  const auto grid = [&](int column, int row) {
    return page_from_sheet(
        canvas, {column * sheet::square - sheet::board_width / 2, sheet::board_height / 2 - row * sheet::square});
  };
  for (int row = 0; row < sheet::rows; ++row) {
    for (int column = 0; column < sheet::columns; ++column) {
      if (sheet::is_black(column, row)) canvas.add_box(grid(column, row), grid(column + 1, row + 1));
    }
  }
  for (int m = 0; m < sheet::markers_per_sheet; ++m) {
    const Vec2 top_left = page_from_sheet(canvas, sheet::marker_corners(m)[0]);
    add_marker_boxes(canvas, sheet::marker_id(number, m), top_left, sheet::marker);
  }
  canvas.fill_boxes();
}

/// A check bar along the frame's x axis from 0 to `length`, its marks on the side where y has the sign of `side`. The
/// length runs between the middles of the two end lines, so that ink that spreads does not change it.
void draw_check_bar(PageCanvas& canvas, double length, double side) {
  canvas.line({-end_line / 2, 0}, {length + end_line / 2, 0}, end_line);
  canvas.line({0, 0}, {0, side * ruler_depth}, end_line);
  canvas.line({length, 0}, {length, side * ruler_depth}, end_line);
  const double number_baseline = side * (tick_10 + number_gap) + (side > 0 ? capital_height(Lettering::small) : 0.0);
  for (int at = 1; at < static_cast<int>(length); ++at) {
    const double tick = at % 10 == 0 ? tick_10 : at % 5 == 0 ? tick_5 : tick_1;
    canvas.line({at * 1.0, 0}, {at * 1.0, side * tick}, fine_line);
    if (at % 10 == 0 && 2 * at != static_cast<int>(length)) {
      canvas.text({at * 1.0, number_baseline}, std::to_string(at), Lettering::small, Align::centre);
    }
  }
  const double middle = side * ruler_depth / 2 + capital_height(Lettering::label) / 2;
  canvas.text({length + 2, middle}, fmt::format("{:.0f} mm", length), Lettering::label);
}

/// An arrow at the frame's origin that points along -y at the board's centre.
void draw_centre_mark(PageCanvas& canvas) {
  canvas.line({0, 0}, {0, ruler_depth}, fine_line);
  canvas.fill({{0, tick_10}, {0.9, ruler_depth}, {-0.9, ruler_depth}}, PageInk::black);
}

void draw_check_bars(PageCanvas& canvas) {
  const Vec2 centre(canvas.width() / 2, canvas.height() / 2);
  const double left = centre.x() - sheet::board_width / 2 - quiet_zone;
  const double below = centre.y() + sheet::board_height / 2 + quiet_zone;
  {
    const PageCanvas::Placed up_the_page(canvas, {left, centre.y() + sheet::long_bar / 2}, -quarter_turn);
    draw_check_bar(canvas, sheet::long_bar, -1);
  }
  const PageCanvas::Placed across(canvas, {centre.x() - sheet::short_bar / 2, below}, 0);
  draw_check_bar(canvas, sheet::short_bar, 1);
}

/// The middle square holds a marker, so nothing may be printed at the board's centre itself: it is where the two lines
/// between opposite arrows cross.
void draw_centre_marks(PageCanvas& canvas) {
  const Vec2 centre(canvas.width() / 2, canvas.height() / 2);
  const double reach[2] = {sheet::board_height / 2 + quiet_zone, sheet::board_width / 2 + quiet_zone};
  for (int turn = 0; turn < 4; ++turn) {
    const PageCanvas::Placed facing_side(canvas, centre, turn * quarter_turn);
    const PageCanvas::Placed at_rim(canvas, {0, reach[turn % 2]}, 0);
    draw_centre_mark(canvas);
  }
}

void draw_words(PageCanvas& canvas, int number) {
  const Vec2 centre(canvas.width() / 2, canvas.height() / 2);
  const double half_width = sheet::board_width / 2, above = centre.y() - sheet::board_height / 2 - quiet_zone - 0.6;
  canvas.text({centre.x() - half_width, above}, fmt::format("sheet {}", number), Lettering::heading);
  canvas.text({centre.x() + half_width, above}, "print at 100 % (actual size)", Lettering::label, Align::right);
  const PageCanvas::Placed up_the_page(canvas, {centre.x() + half_width + quiet_zone, centre.y()}, -quarter_turn);
  const double baseline = ruler_depth / 2 + capital_height(Lettering::label) / 2;
  canvas.text({-sheet::long_bar / 4, baseline}, "240 mm and 170 mm: measure with a steel rule, end line to end line",
              Lettering::label, Align::centre);
  canvas.text({sheet::long_bar / 4, baseline}, "the arrows point at the sheet's centre", Lettering::label,
              Align::centre);
}
}  // namespace

void add_marker_boxes(PageCanvas& canvas, int id, const Vec2& min, double side) {
  const auto grid = [&](int column, int row) -> Vec2 { return min + Vec2(column, row) * (side / marker_cells); };
  for (int row = 0; row < marker_cells; ++row) {
    for (int from = 0, to = 0; from < marker_cells; from = to + 1) {
      for (to = from; to < marker_cells && is_marker_cell_black(id, to, row);) ++to;
      if (to > from) canvas.add_box(grid(from, row), grid(to, row + 1));
    }
  }
}

void draw_sheet_page(PageCanvas& canvas, int number) {
  draw_board(canvas, number);
  draw_check_bars(canvas);
  draw_centre_marks(canvas);
  draw_words(canvas, number);
}

}  // namespace chalkfold::calib
