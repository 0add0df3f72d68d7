// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/drawing/drawing.h"

#include <fmt/format.h>

#include <algorithm>
#include <stdexcept>

#include "pipeline/common/require.h"
#include "pipeline/common/utf8.h"

namespace chalkfold::output {

namespace {
constexpr double text_height_max = 10;  // mm; larger letters would hide marks
constexpr double text_height_min = 2;   // mm; smaller cannot be read on a plot
constexpr double letter_width = 0.9;    // of the height, the widest that common plotting letters are
constexpr double text_share = 0.7;      // of the box's width that the longest line may take
constexpr double line_pitch = 1.7;      // of the height

void add_texts(Drawing& drawing, const std::vector<std::string>& lines) {
  std::size_t longest = 1;
  for (const std::string& line : lines) longest = std::max(longest, code_points(line).size());
  const double fits = text_share * drawing.box.size().x() / (letter_width * static_cast<double>(longest));
  const double height = std::clamp(fits, text_height_min, text_height_max);
  Vec2 at = drawing.box.centre();
  at.x() -= 0.5 * text_share * drawing.box.size().x();
  for (const std::string& line : lines) {
    drawing.texts.push_back({at, height, line});
    at.y() -= line_pitch * height;
  }
}
/// Whether a flaw covers a cut-out whole: the flaw is what a cut keeps out of, and a hole in it would read as material.
bool within_a_flaw(const panel::Contour& cutout, const std::vector<panel::Flaw>& flaws) {
  return std::any_of(flaws.begin(), flaws.end(), [&](const panel::Flaw& flaw) {
    return std::all_of(cutout.points.begin(), cutout.points.end(),
                       [&](const Vec2& p) { return geometry::contains(flaw.ring, p); });
  });
}

/// Flaws run clockwise, as cut-outs do, each with its number.
void add_flaws(Drawing& drawing, const std::vector<panel::Flaw>& flaws, const Vec2& origin) {
  constexpr double share = 0.5;  // of the flaw's width that its number may take
  for (std::size_t i = 0; i < flaws.size(); ++i) {
    Polyline ring = in_panel_frame(flaws[i].ring, origin);
    const std::string words = fmt::format("flaw {}", i + 1);
    const geometry::Box box = geometry::bounding_box(ring);
    const double letters = letter_width * static_cast<double>(words.size()),
                 height = std::clamp(share * box.size().x() / letters, text_height_min, text_height_max);
    drawing.texts.push_back({box.centre() - Vec2(letters, 1) * height / 2, height, words});
    std::reverse(ring.begin(), ring.end());
    drawing.lines.push_back({Layer::cutouts, std::move(ring), true});
  }
}

/// What to know about a panel.
std::vector<std::string> words_of(const panel::Panel& panel) {
  std::vector<std::string> words{panel.name, "unit mm", "side as photographed",
                                 fmt::format("thickness {:.1f} mm, U {:.2f} mm", panel.thickness, panel.U_max)};
  if (!panel::is_material(panel)) return words;
  if (panel.face_up) words[2] = fmt::format("{} up, as photographed", *panel.face_up ? "face" : "inside");
  words.insert(words.begin() + 1,
               fmt::format("{}, usable {:.4f} m2", panel::to_string(panel.kind), panel::usable_area(panel) / 1e6));
  return words;
}

/// Everything but boundary and cut-outs.
void add_marks(Drawing& drawing, const panel::Marks& marks, const Vec2& origin) {
  const auto add = [&](Layer layer, const Polyline& points, bool closed = false) {
    drawing.lines.push_back({layer, in_panel_frame(points, origin), closed});
  };
  for (const panel::Notch& n : marks.notches) add(Layer::marks, {n.foot, n.tip});
  for (const panel::MatchMark& m : marks.matches) add(Layer::marks, {m.foot, m.tip});
  if (marks.centre) add(Layer::mirror, {marks.centre->from, marks.centre->to});
  if (marks.grain) add(Layer::grain, {marks.grain->tail, marks.grain->head});
  for (const panel::Writing& w : marks.writings) add(Layer::internal, {w.box.begin(), w.box.end()}, true);
  for (const panel::NeedleRow& r : marks.needle_rows) add(Layer::sew, r.points);
  for (const panel::DrillHole& h : marks.holes)
    drawing.spots.push_back({Layer::holes, h.centre - origin, h.diameter / 2});
}
}  // namespace

std::string layer_title(Layer layer) {
  switch (layer) {
    case Layer::boundary:
      return "piece boundary";
    case Layer::turn_points:
      return "turn points";
    case Layer::curve_points:
      return "curve points";
    case Layer::marks:
      return "notches and match marks";
    case Layer::mirror:
      return "mirror line";
    case Layer::grain:
      return "grain line";
    case Layer::internal:
      return "internal lines";
    case Layer::cutouts:
      return "cut-outs";
    case Layer::holes:
      return "drill holes";
    case Layer::sew:
      return "sew line";
    case Layer::text:
      return "text";
  }
  throw std::logic_error("no such layer");
}

Vec2 panel_origin(const panel::Panel& panel) {
  require_at_least("points of the outline of " + plain_text(panel.name), panel.outline.points.size(), 3);
  return geometry::bounding_box(panel.outline.points).min;
}

Polyline in_panel_frame(const Polyline& points_in_table, const Vec2& origin) {
  Polyline out;
  out.reserve(points_in_table.size());
  for (const Vec2& p : points_in_table) out.push_back(p - origin);
  return out;
}

Drawing drawing_of(const panel::Panel& panel) {
  const Vec2 origin = panel_origin(panel);
  Drawing drawing;
  drawing.name = panel.name;
  drawing.lines.push_back({Layer::boundary, in_panel_frame(panel.outline.points, origin), true});
  for (const panel::Contour& cutout : panel.cutouts) {
    const Layer layer = within_a_flaw(cutout, panel.flaws) ? Layer::internal : Layer::cutouts;
    drawing.lines.push_back({layer, in_panel_frame(cutout.points, origin), true});
  }
  drawing.box = geometry::bounding_box(drawing.lines.front().points);
  add_marks(drawing, panel.marks, origin);
  add_flaws(drawing, panel.flaws, origin);
  add_texts(drawing, words_of(panel));
  return drawing;
}

std::string mm_text(double mm) {
  std::string text = fmt::format("{:.4f}", mm);
  return text == "-0.0000" ? "0.0000" : text;
}

}  // namespace chalkfold::output
