// SPDX-License-Identifier: Apache-2.0
#include <array>
#include <cmath>
#include <numbers>

#include "calib/guide_drawings.h"
#include "calib/pages.h"
#include "calib/sheet_layout.h"

namespace chalkfold::calib {

namespace {
// Eight pictures in two columns, on the area that the board takes on a sheet, so that the page fits both papers.
constexpr double cell_width = 87, cell_height = 57, column_gap = 6;
constexpr double title_height = 13;
constexpr double line_width = 0.3;

Polyline box(const Vec2& min, const Vec2& max) { return {min, {max.x(), min.y()}, max, {min.x(), max.y()}}; }

void draw_print_true_size(PageCanvas& canvas) {
  canvas.outline(box({9, 10}, {36, 48}), line_width);
  draw_small_sheet(canvas, {22.5, 29}, 0, 38);
  canvas.text({22.5, 53}, "100 %, actual size", Lettering::label, Align::centre);
  draw_yes(canvas, {40.5, 14});
  canvas.outline(box({50, 10}, {77, 48}), line_width);
  draw_small_sheet(canvas, {63.5, 29}, 0, 32);
  canvas.text({63.5, 53}, "fit to page", Lettering::label, Align::centre);
  draw_no(canvas, {81.5, 14});
}

void draw_steel_rule(PageCanvas& canvas, const Vec2& at, double angle, double length) {
  const PageCanvas::Placed frame(canvas, at, angle);
  canvas.fill(box({0, 0}, {length, 4}), PageInk::grey);
  canvas.outline(box({0, 0}, {length, 4}), line_width);
  for (int tick = 1; tick < static_cast<int>(length); ++tick) {
    canvas.line({tick * 1.0, 0}, {tick * 1.0, tick % 5 == 0 ? 1.8 : 1.0}, 0.15);
  }
}

void draw_measure_bars(PageCanvas& canvas) {
  draw_small_sheet(canvas, {30, 29}, 0, 38);
  draw_steel_rule(canvas, {17.5, 10}, std::numbers::pi / 2, 38);
  draw_steel_rule(canvas, {16.5, 48}, 0, 28);
  canvas.text({50, 19}, "long    239.6", Lettering::label);
  canvas.text({50, 25}, "short  169.8", Lettering::label);
  canvas.outline(box({48, 13.5}, {70, 28}), line_width);
  canvas.text({48, 34}, "type what you read,", Lettering::label);
  canvas.text({48, 39}, "to 0.2 mm or better", Lettering::label);
}

void draw_sheets_around(PageCanvas& canvas) {
  draw_small_panel(canvas, {43, 31}, 0.95);
  draw_small_sheet(canvas, {14, 22}, -0.15, 23);
  draw_small_sheet(canvas, {13, 44}, std::numbers::pi / 2 + 0.1, 23);
  draw_small_sheet(canvas, {73, 20}, 0.25, 23);
  draw_small_sheet(canvas, {73, 44}, std::numbers::pi / 2 - 0.12, 23);
  canvas.text({43, 53}, "3 or 4 sheets, any way round", Lettering::label, Align::centre);
}

void draw_flat_uncovered(PageCanvas& canvas) {
  draw_small_sheet(canvas, {9, 28}, 0, 24);
  draw_small_panel(canvas, {32, 30}, 0.62);
  draw_yes(canvas, {22, 14});
  draw_small_sheet(canvas, {57, 28}, 0, 24);
  draw_small_panel(canvas, {69, 30}, 0.62);
  draw_no(canvas, {72, 14});
  // Side views: a flat panel, and one that stands up in a fold.
  for (const double x : {4.0, 50.0}) canvas.line({x, 51}, {x + 34, 51}, line_width);
  canvas.fill(box({8, 49.6}, {34, 51}), PageInk::black);
  draw_yes(canvas, {36, 45});
  Polyline fold;
  const auto rise = [](double x) { return 4.5 * std::exp(-std::pow((x - 68) / 4.0, 2)); };
  for (int x = 54; x <= 80; ++x) fold.push_back({x * 1.0, 51 - rise(x)});
  for (int x = 80; x >= 54; --x) fold.push_back({x * 1.0, 49.6 - rise(x)});
  canvas.fill(fold, PageInk::black);
  draw_no(canvas, {79, 45});
}

void draw_phone_above(PageCanvas& canvas) {
  canvas.line({4, 50}, {56, 50}, line_width);
  canvas.fill(box({20, 48.6}, {40, 50}), PageInk::black);
  for (const double x : {8.0, 42.0}) canvas.line({x, 49.7}, {x + 10, 49.7}, 0.5);
  draw_phone_from_side(canvas, {30, 14}, 0, 25, 35.5);
  canvas.line({30, 15}, {30, 48}, 0.15, 0.6);
  draw_yes(canvas, {45, 13});
  canvas.text({30, 55}, "every sheet whole in the picture", Lettering::label, Align::centre);
  canvas.line({61, 50}, {86, 50}, line_width);
  canvas.fill(box({67, 48.6}, {81, 50}), PageInk::black);
  draw_phone_from_side(canvas, {65, 25}, -0.6, 7, 27);
  draw_no(canvas, {79, 16});
}

void draw_lens_choice(PageCanvas& canvas) {
  const char* const lenses[3] = {"0.5x", "1x", "3x"};
  for (int i = 0; i < 3; ++i) {
    const Vec2 middle(13 + 27.0 * i, 16);
    canvas.circle(middle, 6, i == 1 ? 0.9 : line_width);
    canvas.text(middle + Vec2(0, 1.4), lenses[i], Lettering::heading, Align::centre);
    if (i == 1)
      draw_yes(canvas, middle + Vec2(11.5, 0));
    else
      draw_no(canvas, middle + Vec2(11.5, 0));
  }
  canvas.text({43, 29}, "not the ultra-wide lens, no digital zoom", Lettering::label, Align::centre);
  canvas.fill({{17.5, 35}, {12.5, 43.5}, {15.8, 43.5}, {14, 50}, {20, 40.8}, {16.7, 40.8}, {19.5, 35}}, PageInk::black);
  draw_no(canvas, {26, 42.5});
  canvas.text({38, 42}, "even light,", Lettering::label);
  canvas.text({38, 47}, "no hard shadows", Lettering::label);
}

void draw_tags(PageCanvas& canvas) {
  draw_small_panel(canvas, {22, 28}, 0.7);
  draw_small_tag(canvas, {40.5, 34}, 10, 1);
  draw_small_panel(canvas, {62, 28}, 0.7);
  draw_small_tag(canvas, {80.5, 34}, 10, 2);
  canvas.text({43.5, 52}, "write the panel's name on it", Lettering::label, Align::centre);
}

void draw_tape(PageCanvas& canvas) {
  for (const double x : {16.0, 71.0}) {
    draw_small_sheet(canvas, {x, 26}, 0, 30);
    canvas.line({x, 9}, {x, 44}, 0.2);
    canvas.line({x - 12.5, 26}, {x + 12.5, 26}, 0.2);
  }
  draw_span(canvas, {16, 46}, {71, 46});
  canvas.text({43.5, 44.5}, "1012.0 mm", Lettering::label, Align::centre);
  canvas.text({43.5, 53}, "lines from arrow to arrow cross at the centre", Lettering::label, Align::centre);
}

struct Picture {
  const char* caption;
  void (*draw)(PageCanvas&);
};
constexpr std::array<Picture, 8> pictures = {{
    {"1  Print at true size", draw_print_true_size},
    {"2  Measure both check bars", draw_measure_bars},
    {"3  Sheets around the panel", draw_sheets_around},
    {"4  Panel flat, inside up, beside the sheets", draw_flat_uncovered},
    {"5  A tag by each panel", draw_tags},
    {"6  Phone above the middle, about level", draw_phone_above},
    {"7  Main lens, no zoom, no flash", draw_lens_choice},
    {"8  Better still: tape between two sheets", draw_tape},
}};
}  // namespace

void draw_guide_page(PageCanvas& canvas) {
  const Vec2 top_left((canvas.width() - sheet::board_width) / 2, (canvas.height() - sheet::board_height) / 2);
  const PageCanvas::Placed page(canvas, top_left, 0);
  canvas.text({0, 6}, "Lay the sheets, take the photo", Lettering::title);
  for (std::size_t i = 0; i < pictures.size(); ++i) {
    const std::size_t column = i % 2, row = i / 2;
    const Vec2 at(static_cast<double>(column) * (cell_width + column_gap),
                  title_height + static_cast<double>(row) * cell_height);
    const PageCanvas::Placed cell(canvas, at, 0);
    canvas.line({0, 0}, {cell_width, 0}, 0.2);
    canvas.text({0, 5}, pictures[i].caption, Lettering::heading);
    pictures[i].draw(canvas);
  }
  canvas.line({0, 243}, {sheet::board_width, 243}, 0.2);
  canvas.text({0, 248.5},
              "Sheets flat and still. Give the panel's thickness. Try one cut piece against the old panel before you "
              "cut the rest.",
              Lettering::label);
}

}  // namespace chalkfold::calib
