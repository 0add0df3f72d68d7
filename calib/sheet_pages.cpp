// SPDX-License-Identifier: Apache-2.0
#include "calib/sheet_pages.h"

#include <fmt/format.h>

#include <algorithm>

#include "calib/actual_size.h"
#include "calib/pages.h"
#include "calib/sheet_layout.h"
#include "pipeline/common/error.h"
#include "pipeline/common/write_file.h"

namespace chalkfold::calib {

namespace {
constexpr double mm_per_inch = 25.4;

Vec2 paper_size(Paper paper) { return paper == Paper::a4 ? Vec2(210, 297) : Vec2(8.5 * mm_per_inch, 11 * mm_per_inch); }

void check(const char* option, int value, int least, int most) {
  if (value < least || value > most) {
    throw UsageError(fmt::format("--{} {}: must be a number from {} to {}", option, value, least, most));
  }
}
}  // namespace

std::string sheet_pages_pdf(const SheetPagesOptions& options) {
  check("sheets", options.sheets, 1, sheet::sheets_max);
  check("tags", options.tags, 0, sheet::tags_max);
  const Vec2 size = paper_size(options.paper);
  PageCanvas canvas(size.x(), size.y(), "chalkfold sheets");
  draw_guide_page(canvas);
  canvas.end_page();
  for (int number = 1; number <= options.sheets; ++number) {
    draw_sheet_page(canvas, number);
    canvas.end_page();
  }
  for (int first = 1; first <= options.tags; first += tags_per_page) {
    draw_tag_page(canvas, first, std::min(first + tags_per_page - 1, options.tags));
    canvas.end_page();
  }
  return ask_for_actual_size(canvas.finish());
}

void write_sheet_pages(const std::filesystem::path& out, const SheetPagesOptions& options) {
  write_file_atomically(out, sheet_pages_pdf(options));
}

}  // namespace chalkfold::calib
