// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/pages/piece_lines.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "pipeline/draft/piece/lettering.h"
#include "pipeline/output/drawing/piece_drawing.h"

namespace chalkfold::output {

namespace {
constexpr double arrow = 8;               // mm, of the grain line's head
constexpr double arrow_half_angle = 0.3;  // rad
constexpr double hole_cross = 2;          // mm that the cross stands out of the hole

Polyline placed(const Polyline& line, const PieceOnPage& on_page) {
  Polyline out;
  out.reserve(line.size());
  for (const Vec2& p : line) out.push_back(on_page(p));
  return out;
}

void draw_arrow_head(calib::PageCanvas& canvas, const Vec2& tail, const Vec2& head, const calib::Pen& pen) {
  const Vec2 back = (tail - head).normalized();
  const double length = std::min(arrow, 0.3 * (head - tail).norm());
  const double c = std::cos(arrow_half_angle), s = std::sin(arrow_half_angle);
  canvas.path({head + length * Vec2(c * back.x() - s * back.y(), s * back.x() + c * back.y()), head,
               head + length * Vec2(c * back.x() + s * back.y(), -s * back.x() + c * back.y())},
              pen);
}

void draw_grain(calib::PageCanvas& canvas, const Vec2& tail, const Vec2& head, bool directed, const calib::Pen& pen) {
  if (!((head - tail).norm() > 0)) return;
  canvas.path({tail, head}, pen);
  draw_arrow_head(canvas, tail, head, pen);
  if (!directed) draw_arrow_head(canvas, head, tail, pen);
}

bool in_view(const geometry::Box& box, const geometry::Box& view) {
  constexpr double ink = 2;  // mm, more than half of any line's width
  return (box.min.array() <= view.max.array() + ink).all() && (box.max.array() >= view.min.array() - ink).all();
}

/// Draws the stretches of a line that are in view, dashes as if all of it were drawn.
void draw_line(calib::PageCanvas& canvas, Polyline line, const calib::Pen& pen, const geometry::Box& view,
               bool closed) {
  const geometry::Box all = geometry::bounding_box(line);
  if (line.size() < 2 || !in_view(all, view)) return;
  if ((all.min.array() >= view.min.array()).all() && (all.max.array() <= view.max.array()).all()) {
    canvas.path(line, pen, closed);
    return;
  }
  if (closed) line.push_back(line.front());
  calib::Pen own = pen;
  Polyline run;
  double before = 0;
  for (std::size_t i = 0; i + 1 < line.size(); ++i) {
    const Vec2 &a = line[i], &b = line[i + 1];
    if (in_view({a.cwiseMin(b), a.cwiseMax(b)}, view)) {
      if (run.empty()) {
        own.dashed_before = before;
        run.push_back(a);
      }
      run.push_back(b);
    } else if (!run.empty()) {
      canvas.path(run, own);
      run.clear();
    }
    before += (b - a).norm();
  }
  if (!run.empty()) canvas.path(run, own);
}

void draw_label(calib::PageCanvas& canvas, const draft::PieceLabel& label, const PieceOnPage& on_page,
                const calib::Pen& pen, const geometry::Box& view) {
  for (const Polyline& stroke : draft::strokes_of(label)) draw_line(canvas, placed(stroke, on_page), pen, view, false);
}
}  // namespace

LineStyles line_styles(double line) {
  LineStyles styles;
  styles.cut = {line, {}};
  styles.sew = {line, {4, 2}};
  styles.axis = {line, {10, 2, 1.5, 2}};
  styles.grain = {0.6 * line, {}};
  styles.marks = {line, {}};
  styles.inside = {0.6 * line, {}};
  styles.letters = {0.7 * line, {}};
  return styles;
}

void draw_piece(calib::PageCanvas& canvas, const draft::Piece& piece, const PieceOnPage& on_page,
                const LineStyles& styles, const geometry::Box& view, bool lettered) {
  const auto draw = [&](const Polyline& line, const calib::Pen& pen, bool closed) {
    draw_line(canvas, placed(line, on_page), pen, view, closed);
  };
  draw(piece.cut_line, styles.cut, true);
  draw(piece.sew_line, styles.sew, true);
  for (const Polyline& cutout : piece.cutouts) draw(cutout, styles.cut, true);
  if (piece.axis) draw({(*piece.axis)[0], (*piece.axis)[1]}, styles.axis, false);
  if (piece.grain)
    draw_grain(canvas, on_page((*piece.grain)[0]), on_page((*piece.grain)[1]), piece.grain_directed, styles.grain);
  for (const draft::PieceMark& mark : piece.marks) draw(mark_course(piece, mark), styles.marks, false);
  for (const auto& [centre, diameter] : piece.holes) {
    const Vec2 at = on_page(centre);
    const double radius = on_page.scale * diameter / 2, reach = radius + on_page.scale * hole_cross;
    if (!in_view({at - Vec2::Constant(reach), at + Vec2::Constant(reach)}, view)) continue;
    canvas.circle(at, radius, styles.inside.width);
    canvas.path({at - Vec2(reach, 0), at + Vec2(reach, 0)}, styles.inside);
    canvas.path({at - Vec2(0, reach), at + Vec2(0, reach)}, styles.inside);
  }
  if (!lettered) return;
  for (const Polyline& line : piece.internal) draw(line, styles.inside, line.size() > 2);
  for (const draft::PieceLabel& label : piece.labels) draw_label(canvas, label, on_page, styles.letters, view);
}

void draw_key(calib::PageCanvas& canvas, const Vec2& at, const LineStyles& styles, double room) {
  const std::array<std::pair<const char*, const calib::Pen*>, 4> lines = {
      {{"cut line", &styles.cut}, {"sew line", &styles.sew}, {"fold axis", &styles.axis}, {"grain", &styles.grain}}};
  constexpr double sample_max = 24, gap = 2;  // mm
  const double pitch = room / static_cast<double>(lines.size());
  const double sample = std::min(sample_max, 0.5 * pitch);
  const double raised = 0.5 * calib::capital_height(calib::Lettering::label);
  for (std::size_t i = 0; i < lines.size(); ++i) {
    const Vec2 from = at + Vec2(static_cast<double>(i) * pitch, -raised), to = from + Vec2(sample, 0);
    if (lines[i].second == &styles.grain) {
      draw_grain(canvas, from, to, true, styles.grain);
    } else {
      canvas.path({from, to}, *lines[i].second);
    }
    canvas.text(to + Vec2(gap, raised), lines[i].first, calib::Lettering::label);
  }
}

}  // namespace chalkfold::output
