// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/pages/pdf_layout.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <utility>

#include "pipeline/common/check_option.h"
#include "pipeline/common/error.h"

namespace chalkfold::output {

namespace {
constexpr double mm_per_inch = 25.4;
constexpr double piece_max = 10000;  // mm; beyond it Cairo's numbers overflow
constexpr double rim = 0.5;          // mm around the cut line, so that its ink is whole

/// Whether the stretch a-b meets the box (separating axes: the box's two, and the stretch's normal).
bool meets(const geometry::Box& box, const Vec2& a, const Vec2& b) {
  const Vec2 half = 0.5 * box.size(), middle = 0.5 * (a + b) - box.centre(), reach = 0.5 * (b - a);
  if (((middle.cwiseAbs() - reach.cwiseAbs()).array() > half.array()).any()) return false;
  const Vec2 normal(-reach.y(), reach.x());
  return std::abs(normal.dot(middle)) <= normal.cwiseAbs().dot(half);
}

/// 0, 1, ... 25, 26: A, B, ... Z, AA.
std::string letters(int row) {
  std::string name;
  for (int rest = row + 1; rest > 0; rest = (rest - 1) / 26)
    name.insert(name.begin(), static_cast<char>('A' + (rest - 1) % 26));
  return name;
}

int count_along(double length, double tile, double overlap) {
  return std::max(1, static_cast<int>(std::ceil((length - overlap) / (tile - overlap) - 1e-9)));
}

/// Tiles of one size that share `overlap` with their neighbours.
struct Grid {
  Vec2 top_left = Vec2::Zero(), tile = Vec2::Zero();
  double overlap = 0;
  int rows = 1, columns = 1;

  std::size_t count() const { return static_cast<std::size_t>(rows) * static_cast<std::size_t>(columns); }
  std::size_t place(int row, int column) const {
    return static_cast<std::size_t>(row) * static_cast<std::size_t>(columns) + static_cast<std::size_t>(column);
  }
  Vec2 step() const { return tile - Vec2::Constant(overlap); }
  int column_of(double x) const { return index((x - top_left.x() - 0.5 * overlap) / step().x(), columns); }
  int row_of(double y) const { return index((top_left.y() - y - 0.5 * overlap) / step().y(), rows); }
  geometry::Box box(int row, int column) const {
    const Vec2 min = top_left + Vec2(column * step().x(), -row * step().y() - tile.y());
    return {min, min + tile};
  }
  geometry::Box cell(int row, int column) const {
    geometry::Box cell = box(row, column);
    const double half = 0.5 * overlap;
    cell.min += Vec2(column > 0 ? half : 0, row + 1 < rows ? half : 0);
    cell.max -= Vec2(column + 1 < columns ? half : 0, row > 0 ? half : 0);
    return cell;
  }
  static int index(double at, int count) { return static_cast<int>(std::clamp(std::floor(at), 0.0, count - 1.0)); }
};

/// Row by row, whether any of the piece lies in the cell.
std::vector<bool> used_cells(const Grid& grid, const Polyline& closed) {
  std::vector<bool> used(grid.count(), false);
  for (std::size_t i = 0; i < closed.size(); ++i) {
    const Vec2 &a = closed[i], &b = closed[(i + 1) % closed.size()];
    const auto [left, right] = std::minmax({grid.column_of(a.x()), grid.column_of(b.x())});
    const auto [upper, lower] = std::minmax({grid.row_of(a.y()), grid.row_of(b.y())});
    for (int row = upper; row <= lower; ++row) {
      for (int column = left; column <= right; ++column) {
        if (!used[grid.place(row, column)]) used[grid.place(row, column)] = meets(grid.cell(row, column), a, b);
      }
    }
  }
  for (int row = 0; row < grid.rows; ++row) {
    for (int column = 0; column < grid.columns; ++column) {
      if (!used[grid.place(row, column)])
        used[grid.place(row, column)] = geometry::contains(closed, grid.cell(row, column).centre());
    }
  }
  return used;
}

/// The grid where it needs the fewest pages: the tiles reach beyond the piece, and may do so more on one side than on the other.
Grid placed_grid(Grid grid, const Polyline& line, const geometry::Box& piece) {
  constexpr int places = 4;  // to either side of the middle
  const Vec2 all = Vec2(grid.columns * grid.step().x(), grid.rows * grid.step().y()) + Vec2::Constant(grid.overlap);
  const Vec2 slack = 0.5 * (all - piece.size());
  const Vec2 middle = piece.centre() + Vec2(-0.5 * all.x(), 0.5 * all.y());
  Grid best = grid;
  std::pair<std::ptrdiff_t, int> least{PTRDIFF_MAX, 0};  // pages, then the way from the middle
  for (int i = -places; i <= places; ++i) {
    for (int k = -places; k <= places; ++k) {
      grid.top_left = middle + Vec2(slack.x() * i / places, slack.y() * k / places);
      const std::vector<bool> used = used_cells(grid, line);
      const std::pair<std::ptrdiff_t, int> cost{std::count(used.begin(), used.end(), true), i * i + k * k};
      if (cost >= least) continue;
      least = cost;
      best = grid;
    }
  }
  return best;
}

/// Fills rows, columns and tiles.
void cut_up(PdfLayout& layout, const Polyline& line, const geometry::Box& piece, const Vec2& tile, double overlap) {
  layout.columns = count_along(piece.size().x(), tile.x(), overlap);
  layout.rows = count_along(piece.size().y(), tile.y(), overlap);
  Grid grid{Vec2::Zero(), tile, overlap, layout.rows, layout.columns};
  if (layout.rows * layout.columns == 1) {
    grid.top_left = piece.centre() + Vec2(-0.5 * tile.x(), 0.5 * tile.y());
  } else {
    grid = placed_grid(grid, line, piece);
  }
  const std::vector<bool> used = used_cells(grid, line);
  for (int row = 0; row < layout.rows; ++row) {
    for (int column = 0; column < layout.columns; ++column) {
      layout.tiles.push_back({row, column, fmt::format("{}{}", letters(row), column + 1), grid.box(row, column),
                              grid.cell(row, column), !used[layout.tiles.size()]});
    }
  }
}

PdfLayout laid_out(const Polyline& cut_line, const PdfPages& pages, double words, bool turned) {
  PdfLayout layout;
  layout.turned = turned;
  Polyline line;
  for (const Vec2& p : cut_line) line.push_back(in_pages_frame(p, turned));
  geometry::Box piece = geometry::bounding_box(line);
  piece.min -= Vec2::Constant(rim);
  piece.max += Vec2::Constant(rim);
  layout.page = paper_size(pages);
  const Vec2 around(2 * page_margin, 2 * page_margin + page_foot);
  const auto long_enough = [&](double height) {
    return pages.paper == PdfPaper::roll ? std::min(page_length_max, height) : layout.page.y();
  };
  Vec2 page(layout.page.x(), long_enough(piece.size().y() + around.y() + words));
  layout.whole = (piece.size().array() <= (page - around - Vec2(0, words)).array()).all();
  if (!layout.whole) page.y() = long_enough(piece.size().y() + around.y());
  layout.page = page;
  cut_up(layout, line, piece, page - around - Vec2(0, layout.whole ? words : 0), pages.overlap);
  return layout;
}

/// Pages, fewest seams first, then mm of paper that goes through the printer.
std::pair<std::ptrdiff_t, double> paper_used(const PdfLayout& layout, const PdfPages& pages) {
  const auto used = std::count_if(layout.tiles.begin(), layout.tiles.end(), [](const PdfTile& t) { return !t.empty; });
  const double map = layout.whole ? 0 : paper_size(pages).y();
  return {used, static_cast<double>(used) * layout.page.y() + map};
}
}  // namespace

Vec2 paper_size(const PdfPages& pages) {
  switch (pages.paper) {
    case PdfPaper::letter:
      return {8.5 * mm_per_inch, 11 * mm_per_inch};
    case PdfPaper::a3:
      return {297, 420};
    case PdfPaper::roll:
      return {pages.roll_width, 297};
    case PdfPaper::a4:
      break;
  }
  return {210, 297};
}

void check(const PdfPages& pages) {
  check_option("roll width of the PDF pages, mm,", pages.roll_width, 150, page_length_max);
  check_option("overlap of the PDF pages, mm,", pages.overlap, 0, 50);
  check_option("line of the PDF pages, mm,", pages.line, 0.05, 2);
}

PdfLayout pdf_layout(const Polyline& cut_line, const PdfPages& pages, double words) {
  check(pages);
  const Vec2 size = geometry::bounding_box(cut_line).size();
  if (!(size.maxCoeff() <= piece_max)) {
    throw UsageError(fmt::format("PDF pages: a piece of {:.0f} x {:.0f} mm is too large; the most is {:.0f} mm",
                                 size.x(), size.y(), piece_max));
  }
  const PdfLayout upright = laid_out(cut_line, pages, words, false), turned = laid_out(cut_line, pages, words, true);
  return paper_used(turned, pages) < paper_used(upright, pages) ? turned : upright;
}

}  // namespace chalkfold::output
