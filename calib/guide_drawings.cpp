// SPDX-License-Identifier: Apache-2.0
#include "calib/guide_drawings.h"

#include <cmath>
#include <numbers>
#include <string>

#include "calib/sheet_layout.h"

namespace chalkfold::calib {

namespace {
constexpr double line_width = 0.3, thick_line = 0.9, thin_line = 0.15;
constexpr double a4_width = 210, a4_height = 297;

Polyline box(const Vec2& min, const Vec2& max) { return {min, {max.x(), min.y()}, max, {min.x(), max.y()}}; }

void arrow_head(PageCanvas& canvas, const Vec2& tip, const Vec2& along) {
  const Vec2 a = along.normalized(), across(-a.y(), a.x());
  canvas.fill({tip, tip - 2.2 * a + 0.8 * across, tip - 2.2 * a - 0.8 * across}, PageInk::black);
}
}  // namespace

void draw_small_sheet(PageCanvas& canvas, const Vec2& middle, double angle, double height) {
  const double scale = height / a4_height;
  const PageCanvas::Placed frame(canvas, middle, angle, scale);
  const Vec2 half_paper(a4_width / 2, a4_height / 2);
  canvas.fill(box(-half_paper, half_paper), PageInk::white);
  const Vec2 top_left(-sheet::board_width / 2, -sheet::board_height / 2);
  for (int row = 0; row < sheet::rows; ++row) {
    for (int column = 0; column < sheet::columns; ++column) {
      const Vec2 at = top_left + Vec2(column, row) * sheet::square;
      const double inset = sheet::is_black(column, row) ? 0.0 : (sheet::square - sheet::marker) / 2;
      canvas.add_box(at + Vec2(inset, inset), at + Vec2(sheet::square - inset, sheet::square - inset));
    }
  }
  canvas.fill_boxes();
  canvas.outline(box(-half_paper, half_paper), thin_line / scale);
}

void draw_small_panel(PageCanvas& canvas, const Vec2& middle, double scale) {
  const PageCanvas::Placed frame(canvas, middle, 0, scale);
  Polyline outline;
  // A seat panel: straight front, rounded back corners, a little wider at the back.
  for (const Vec2& corner : {Vec2(-11, -8), Vec2(11, -8)}) {
    const double from = corner.x() < 0 ? std::numbers::pi : 1.5 * std::numbers::pi;
    for (int step = 0; step <= 8; ++step) {
      const double turn = from + step * std::numbers::pi / 16;
      outline.push_back(corner + 7 * Vec2(std::cos(turn), std::sin(turn)));
    }
  }
  outline.insert(outline.end(), {{15.5, 15}, {-15.5, 15}});
  canvas.fill(outline, PageInk::grey);
  canvas.outline(outline, line_width / scale);
  const double chalk = 0.4 / scale;
  canvas.line({0, -15}, {0, 15}, chalk, 1.2);
  for (const double side : {-1.0, 1.0}) canvas.line({side * 14.7, 4}, {side * 17.3, 4}, chalk);
  canvas.line({5, 9}, {5, -1}, chalk);
  canvas.line({5, -1}, {3.8, 1.5}, chalk);
  canvas.line({5, -1}, {6.2, 1.5}, chalk);
}

void draw_small_tag(PageCanvas& canvas, const Vec2& middle, double side, int number) {
  const Vec2 half(side / 2, side / 2);
  canvas.fill(box(middle - half, middle + half), PageInk::white);
  canvas.outline(box(middle - half, middle + half), line_width);
  canvas.fill(box(middle - 0.8 * half, middle + Vec2(0.1, 0.1) * side), PageInk::black);
  canvas.fill(box(middle - 0.4 * half, middle - 0.1 * half), PageInk::white);
  canvas.text(middle + Vec2(0.18, -0.1) * side, std::to_string(number), Lettering::heading);
  canvas.line(middle + Vec2(-0.4, 0.38) * side, middle + Vec2(0.4, 0.38) * side, line_width);
}

void draw_phone_from_side(PageCanvas& canvas, const Vec2& lens, double angle, double sees_half_width,
                          double sees_depth) {
  const PageCanvas::Placed frame(canvas, lens, angle);
  canvas.fill(box({-7.5, -2.1}, {7.5, -0.5}), PageInk::black);
  canvas.fill(box({-1, -0.6}, {1, 0}), PageInk::black);
  for (const double side : {-1.0, 1.0}) canvas.line({0, 0.5}, {side * sees_half_width, sees_depth}, line_width, 1);
}

void draw_yes(PageCanvas& canvas, const Vec2& middle) {
  canvas.line(middle + Vec2(-3, 0), middle + Vec2(-1, 2.5), thick_line);
  canvas.line(middle + Vec2(-1.3, 2.5), middle + Vec2(3.5, -3), thick_line);
}

void draw_no(PageCanvas& canvas, const Vec2& middle) {
  canvas.line(middle + Vec2(-2.5, -2.5), middle + Vec2(2.5, 2.5), thick_line);
  canvas.line(middle + Vec2(-2.5, 2.5), middle + Vec2(2.5, -2.5), thick_line);
}

void draw_span(PageCanvas& canvas, const Vec2& from, const Vec2& to) {
  canvas.line(from, to, line_width);
  arrow_head(canvas, from, from - to);
  arrow_head(canvas, to, to - from);
}

}  // namespace chalkfold::calib
