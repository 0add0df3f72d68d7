// SPDX-License-Identifier: Apache-2.0
#include <string>

#include "calib/pages.h"
#include "calib/sheet_layout.h"

namespace chalkfold::calib {

namespace {
constexpr double cut_line = 0.15, cut_dash = 1.5;
constexpr double cut_overrun = 4.0;   // cut lines run past the cards, to lay a rule on
constexpr double above_marker = 6.0;  // more than one marker cell (5.7 mm): what the marker needs white around it
constexpr double writing_line = 57.0;
constexpr double name_line = 0.2;

void draw_card(PageCanvas& canvas, int tag) {
  const double beside = (sheet::tag_card - sheet::tag_side) / 2;
  add_marker_boxes(canvas, sheet::tag_first_id + tag, {beside, above_marker}, sheet::tag_side);
  canvas.fill_boxes();
  canvas.text({4, writing_line}, "tag", Lettering::label);
  canvas.text({10, writing_line}, std::to_string(tag), Lettering::title);
  canvas.line({20, writing_line}, {sheet::tag_card - 4, writing_line}, name_line);
}

void draw_cut_lines(PageCanvas& canvas, int rows) {
  const double width = tag_columns * sheet::tag_card, height = rows * sheet::tag_card;
  for (int column = 0; column <= tag_columns; ++column) {
    const double x = column * sheet::tag_card;
    canvas.line({x, -cut_overrun}, {x, height + cut_overrun}, cut_line, cut_dash);
  }
  for (int row = 0; row <= rows; ++row) {
    const double y = row * sheet::tag_card;
    canvas.line({-cut_overrun, y}, {width + cut_overrun, y}, cut_line, cut_dash);
  }
}
}  // namespace

void draw_tag_page(PageCanvas& canvas, int first, int last) {
  const Vec2 top_left((canvas.width() - tag_columns * sheet::tag_card) / 2,
                      (canvas.height() - tag_rows * sheet::tag_card) / 2);
  const PageCanvas::Placed cards(canvas, top_left, 0);
  canvas.text({0, -6}, "Cut apart. Write the panel's name on its tag and lay it beside the panel.", Lettering::label);
  for (int tag = first; tag <= last; ++tag) {
    const int place = tag - first;
    const PageCanvas::Placed card(canvas, Vec2(place % tag_columns, place / tag_columns) * sheet::tag_card, 0);
    draw_card(canvas, tag);
  }
  draw_cut_lines(canvas, (last - first) / tag_columns + 1);
}

}  // namespace chalkfold::calib
