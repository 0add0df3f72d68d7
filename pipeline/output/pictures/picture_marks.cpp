// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/pictures/picture_marks.h"

#include <fmt/format.h>

#include <cmath>
#include <functional>

namespace chalkfold::output {

namespace {
constexpr double thin = 1.4, thick = 2.6, halo = 0.9;  // px, at scale 1
constexpr double words_px = 12, number_px = 13;
constexpr double head_px = 9, triangle_px = 7;

/// A pen that draws in a picture at a scale.
struct Pen {
  PictureCanvas& canvas;
  double s;

  void solid(double width) const { stroke({}, width); }
  void stroke(std::vector<double> dashes, double width) const {
    for (double& d : dashes) d *= s;
    canvas.dashes(dashes);
    canvas.stroke(canvas_mark, width * s, halo * s);
    canvas.dashes({});
  }
  void match(const Vec2& foot, const Vec2& tip) const {
    canvas.segment(foot, tip);
    solid(thick);
  }
  void centre(const Vec2& a, const Vec2& b) const {
    canvas.segment(a, b);
    stroke({16, 4, 3, 4}, thin);
  }
  void grain(const Vec2& tail, const Vec2& head, bool directed) const {
    canvas.segment(tail, head);
    arrow(tail, head);
    if (!directed) arrow(head, tail);
    solid(thin);
  }
  void writing(const Polyline& box, bool underside) const {
    canvas.closed(box);
    stroke({5, 3}, thin);
    if (!underside) return;
    canvas.segment(box[2], box[3]);
    solid(thick);
  }
  void notch(const Vec2& foot, const Vec2& tip) const {
    const Vec2 in = (tip - foot).normalized(), side(-in.y(), in.x());
    canvas.closed({foot, foot - triangle_px * s * in + 0.6 * triangle_px * s * side,
                   foot - triangle_px * s * in - 0.6 * triangle_px * s * side});
    solid(thin);
  }
  void hole(const Vec2& at, double radius) const {
    const double r = std::max(radius, 3 * s);
    canvas.circle(at, r);
    canvas.segment(at - Vec2(2 * r, 0), at + Vec2(2 * r, 0));
    canvas.segment(at - Vec2(0, 2 * r), at + Vec2(0, 2 * r));
    solid(thin * 0.7);
  }
  void row(const Polyline& points) const {
    canvas.open(points);
    stroke({1.5, 3.5}, thin);
  }

 private:
  void arrow(const Vec2& from, const Vec2& to) const {
    const Vec2 back = (from - to).normalized(), side(-back.y(), back.x());
    canvas.segment(to, to + s * head_px * (back + 0.5 * side));
    canvas.segment(to, to + s * head_px * (back - 0.5 * side));
  }
};
}  // namespace

bool has_marks(const panel::Marks& m) {
  return !m.matches.empty() || m.centre || m.grain || !m.writings.empty() || !m.notches.empty() || !m.holes.empty() ||
         !m.needle_rows.empty();
}

void draw_marks(PictureCanvas& canvas, const PictureFrame& frame, const panel::Marks& marks, double scale) {
  const Pen pen{canvas, scale};
  const auto at = [&](const Vec2& p) { return frame.picture_from_table(p); };
  for (const panel::NeedleRow& row : marks.needle_rows) {
    Polyline line;
    for (const Vec2& p : row.points) line.push_back(at(p));
    pen.row(line);
  }
  for (const panel::Writing& w : marks.writings)
    pen.writing({at(w.box[0]), at(w.box[1]), at(w.box[2]), at(w.box[3])}, w.underside);
  if (marks.centre) pen.centre(at(marks.centre->from), at(marks.centre->to));
  if (marks.grain) pen.grain(at(marks.grain->tail), at(marks.grain->head), marks.grain->directed);
  for (const panel::DrillHole& h : marks.holes) pen.hole(at(h.centre), h.diameter / 2 / frame.mm_per_px);
  for (const panel::Notch& n : marks.notches) pen.notch(at(n.foot), at(n.tip));
  for (std::size_t i = 0; i < marks.matches.size(); ++i) {
    const Vec2 foot = at(marks.matches[i].foot), tip = at(marks.matches[i].tip);
    pen.match(foot, tip);
    // Beyond the inner end, on a patch of white so that it reads on any cloth.
    const std::string number = std::to_string(i + 1);
    const double size = number_px * scale, wide = 0.62 * size * static_cast<double>(number.size());
    const Vec2 middle = tip + (tip - foot).normalized() * size;
    canvas.box(middle - Vec2(wide / 2 + 2, size / 2), Vec2(wide + 4, size), canvas_paper);
    canvas.text(middle + Vec2(-wide / 2, 0.36 * size), number, size, true, 4 * size);
  }
}

void draw_marks_legend(PictureCanvas& canvas, const Vec2& at, const panel::Marks& marks, double scale, double room) {
  const Pen pen{canvas, scale};
  const double sample = 26 * scale, gap = 6 * scale, rise = 0.32 * words_px * scale;
  struct Entry {
    std::string words;
    std::function<void(const Vec2& a, const Vec2& b)> draw;  // a, b: the sample's ends
  };
  std::vector<Entry> entries;
  const auto counted = [](std::size_t n, const char* one, const char* many) {
    return fmt::format("{} {}", n, n == 1 ? one : many);
  };
  if (!marks.matches.empty())
    entries.push_back({counted(marks.matches.size(), "match mark", "match marks"),
                       [&](const Vec2& a, const Vec2& b) { pen.match(a, b); }});
  if (marks.centre) entries.push_back({"centre line", [&](const Vec2& a, const Vec2& b) { pen.centre(a, b); }});
  if (marks.grain)
    entries.push_back({"grain", [&](const Vec2& a, const Vec2& b) { pen.grain(a, b, marks.grain->directed); }});
  if (!marks.writings.empty()) {
    entries.push_back({"writing", [&](const Vec2& a, const Vec2& b) {
                         const Vec2 up(0, 6 * scale);
                         pen.writing({a + up, b + up, b - up, a - up}, false);
                       }});
  }
  for (const panel::Writing& w : marks.writings) {
    if (!w.underside) continue;
    entries.push_back({"underside letter", [&](const Vec2& a, const Vec2& b) {
                         const Vec2 up(0, 6 * scale);
                         pen.writing({a + up, b + up, b - up, a - up}, true);
                       }});
  }
  if (!marks.notches.empty()) {
    entries.push_back({counted(marks.notches.size(), "notch", "notches"), [&](const Vec2& a, const Vec2& b) {
                         const Vec2 middle = 0.5 * (a + b);
                         pen.notch(middle, middle - Vec2(0, 1));
                       }});
  }
  if (!marks.holes.empty())
    entries.push_back({counted(marks.holes.size(), "drill hole", "drill holes"),
                       [&](const Vec2& a, const Vec2& b) { pen.hole(0.5 * (a + b), 0); }});
  if (!marks.needle_rows.empty())
    entries.push_back(
        {counted(marks.needle_rows.size(), "needle row", "needle rows"), [&](const Vec2& a, const Vec2& b) {
           pen.row({a, b});
         }});
  if (entries.empty()) return;
  const double share = room / static_cast<double>(entries.size());
  double x = at.x();
  for (const Entry& entry : entries) {
    entry.draw({x, at.y() - rise}, {x + sample, at.y() - rise});
    x += sample + gap;
    x +=
        canvas.text({x, at.y()}, entry.words, words_px * scale, false, std::max(20 * scale, share - sample - 2 * gap)) +
        2 * gap;
  }
}

}  // namespace chalkfold::output
