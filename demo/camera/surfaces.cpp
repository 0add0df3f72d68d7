// SPDX-License-Identifier: Apache-2.0
#include "demo/camera/surfaces.h"

#include <algorithm>
#include <cmath>
#include <opencv2/aruco.hpp>

#include "calib/sheet_layout.h"
#include "demo/base/stroke_font.h"

namespace chalkfold::demo {

namespace {

constexpr int marker_cells = 7;  // 5 bits and the border
constexpr double print_margin = OutlineField::near_limit;

cv::Mat marker_cells_of(const cv::aruco::Dictionary& dictionary, int id) {
  cv::Mat cells(marker_cells, marker_cells, CV_8U, cv::Scalar(0));
  const cv::Mat bits =
      cv::aruco::Dictionary::getBitsFromByteList(dictionary.bytesList.rowRange(id, id + 1), dictionary.markerSize);
  bits.copyTo(cells(cv::Rect(1, 1, marker_cells - 2, marker_cells - 2)));
  return cells;
}

Card card_at(const Vec2& at, double theta, double width, double height) {
  Card card;
  card.card_from_table = geometry::Rigid2{theta, at}.inverse();
  card.width = width;
  card.height = height;
  card.box = geometry::bounding_box(rectangle_on_table(at, theta, width, height));
  return card;
}

void add_text(std::vector<StrokeField::Stroke>& to, const std::string& text, double height, const Vec2& lower_left) {
  for (Polyline line : text_strokes(text, height)) {
    for (Vec2& p : line) p += lower_left;
    add_strokes(to, line, height * 0.06, 0);
  }
}

/// The bar with its end ticks, for the steel rule.
void add_bar(std::vector<StrokeField::Stroke>& to, const Vec2& a, const Vec2& b) {
  constexpr double half_width = 0.15, tick = 2;
  const Vec2 d = (b - a).normalized(), across(-d.y() * tick, d.x() * tick);
  to.push_back({a, b, half_width, 0});
  to.push_back({a - across, a + across, half_width, 0});
  to.push_back({b - across, b + across, half_width, 0});
}

bool near_multiple(double v, double step, double radius) {
  const double rest = v - step * std::floor(v / step);
  return rest < radius || step - rest < radius;
}

/// Cell of a marker whose upper left corner is the origin, v down; true when black.
bool marker_black(const cv::Mat& cells, double u, double v, double side) {
  const int column = std::min(static_cast<int>(u / side * marker_cells), marker_cells - 1);
  const int row = std::min(static_cast<int>(v / side * marker_cells), marker_cells - 1);
  return cells.at<uchar>(row, column) == 0;
}

struct Print {
  bool black = false, near_edge = false;
};

/// u right, v down from the board's upper left corner, nominal mm.
Print board_print(const Card& card, double u, double v, double radius) {
  constexpr double gap = (sheet::square - sheet::marker) / 2, bit = sheet::marker / marker_cells;
  Print out;
  out.near_edge = near_multiple(u, sheet::square, radius) || near_multiple(v, sheet::square, radius);
  const double width = card.columns * sheet::square, height = card.rows * sheet::square;
  if (u < 0 || v < 0 || u >= width || v >= height) {
    out.near_edge = out.near_edge && u > -radius && v > -radius && u < width + radius && v < height + radius;
    return out;
  }
  const int column = static_cast<int>(u / sheet::square), row = static_cast<int>(v / sheet::square);
  if (sheet::is_black(column, row)) {
    out.black = true;
    return out;
  }
  const double mu = u - column * sheet::square - gap, mv = v - row * sheet::square - gap;
  const bool by_marker = mu > -radius && mv > -radius && mu < sheet::marker + radius && mv < sheet::marker + radius;
  out.near_edge = out.near_edge || (by_marker && (near_multiple(mu, bit, radius) || near_multiple(mv, bit, radius)));
  if (mu < 0 || mv < 0 || mu >= sheet::marker || mv >= sheet::marker) return out;
  // White squares before this one, row by row: two in even rows, three in odd ones.
  const int before = row / 2 * card.columns + (row % 2) * (card.columns / 2) + column / 2;
  out.black = marker_black(card.markers[static_cast<std::size_t>(before)], mu, mv, sheet::marker);
  return out;
}

Print tag_print(const Card& card, const Vec2& p, double radius) {
  if (card.markers.empty()) return {};  // blank
  constexpr double bit = sheet::tag_side / marker_cells;
  const double u = p.x() + sheet::tag_side / 2, v = sheet::tag_side / 2 - p.y();
  Print out;
  const double low = -radius, high = sheet::tag_side + radius;
  out.near_edge =
      u > low && v > low && u < high && v < high && (near_multiple(u, bit, radius) || near_multiple(v, bit, radius));
  if (u >= 0 && v >= 0 && u < sheet::tag_side && v < sheet::tag_side)
    out.black = marker_black(card.markers[0], u, v, sheet::tag_side);
  return out;
}

}  // namespace

double shade_reach(double thickness) { return 6 + 8 * thickness; }

Surfaces::Surfaces(const Scene& scene) : scene_(scene) {
  add_panels();
  add_tools();
  add_cards();
}

void Surfaces::add_panels() {
  for (const LaidPanel& panel : scene_.panels) {
    std::vector<Polyline> rings{panel.seen_outline};
    rings.insert(rings.end(), panel.holes.begin(), panel.holes.end());
    rings.insert(rings.end(), panel.awl_holes.begin(), panel.awl_holes.end());
    std::vector<StrokeField::Stroke> needle, creases;
    for (std::size_t k = 0; k < panel.needle_rows.size(); ++k) {
      for (const Vec2& p : panel.needle_rows[k].holes)
        needle.push_back({p, p, panel.needle_rows[k].hole / 2, static_cast<int>(k)});
    }
    for (std::size_t k = 0; k < panel.creases.size(); ++k)
      add_strokes(creases, panel.creases[k].line, crease_reach * panel.creases[k].width, static_cast<int>(k));
    solids_.push_back({.field = OutlineField(std::move(rings), shade_reach(panel.thickness)),
                       .thickness = panel.thickness,
                       .panel = &panel,
                       .marks = StrokeField(panel.chalk.strokes, print_margin),
                       .needle_holes = StrokeField(std::move(needle), print_margin),
                       .creases = StrokeField(std::move(creases), 0)});
    for (const Threads& t : panel.threads)
      threads_.push_back({StrokeField(t.strokes, print_margin), t.colours, t.height});
  }
}

void Surfaces::add_tools() {
  for (const Tool& tool : scene_.tools) {
    for (ToolPart& made : tool_parts(tool)) {
      const ToolPart& part = *parts_.emplace_back(std::make_unique<ToolPart>(std::move(made)));
      solids_.push_back({.field = OutlineField(part.rings, shade_reach(part.thickness)),
                         .thickness = part.thickness,
                         .part = &part,
                         .tool = &tool,
                         .marks = StrokeField(part.print, print_margin),
                         .needle_holes = {},
                         .creases = {}});
    }
    const Threads coil = tool_threads(tool);
    if (!coil.strokes.empty()) threads_.push_back({StrokeField(coil.strokes, print_margin), coil.colours, coil.height});
  }
}

void Surfaces::add_cards() {
  const auto dictionary = cv::aruco::getPredefinedDictionary(cv::aruco::DICT_5X5_1000);
  for (const SheetOnTable& s : scene_.sheets) {
    Card card = card_at(s.at, s.theta, paper_width, paper_height);
    card.columns = sheet::columns;
    card.rows = sheet::rows;
    card.scale_x = scene_.print_scale.x;
    card.scale_y = scene_.print_scale.y;
    for (int m = 0; m < sheet::markers_per_sheet; ++m)
      card.markers.push_back(marker_cells_of(*dictionary, sheet::marker_id(s.number, m)));
    std::vector<StrokeField::Stroke> print;
    add_text(print, "SHEET " + std::to_string(s.number), 5, {-80, -142.5});
    add_bar(print, {-97.5, -sheet::long_bar / 2}, {-97.5, sheet::long_bar / 2});
    add_bar(print, {-sheet::short_bar / 2, -133}, {sheet::short_bar / 2, -133});
    card.print = StrokeField(std::move(print), print_margin);
    cards_.push_back(std::move(card));
  }
  for (const TagOnTable& t : scene_.tags) {
    Card card = card_at(t.at, t.theta, sheet::tag_card, sheet::tag_card);
    card.scale_x = scene_.print_scale.x;
    card.scale_y = scene_.print_scale.y;
    card.markers.push_back(marker_cells_of(*dictionary, sheet::tag_first_id + t.number));
    std::vector<StrokeField::Stroke> print;
    add_text(print, std::to_string(t.number), 5, {-2, -28});
    card.print = StrokeField(std::move(print), print_margin);
    cards_.push_back(std::move(card));
  }
  for (const PaperOnTable& p : scene_.papers) cards_.push_back(card_at(p.at, p.theta, p.size.x(), p.size.y()));
}

Candidates Surfaces::candidates(const geometry::Box& feet, double slope, double radius) const {
  const auto near = [&](const geometry::Box& box, double margin) {
    return ((box.min - feet.max).array() < margin).all() && ((feet.min - box.max).array() < margin).all();
  };
  Candidates out;
  for (std::size_t i = 0; i < solids_.size(); ++i) {
    const Solid& s = solids_[i];
    if (near(s.field.box(), s.thickness * slope + radius + 1)) out.solids.push_back(static_cast<int>(i));
    if (near(s.field.box(), s.field.reach() + s.thickness * 3 + 1)) out.shaders.push_back(static_cast<int>(i));
  }
  for (std::size_t i = 0; i < cards_.size(); ++i) {
    if (near(cards_[i].box, radius + 1)) out.cards.push_back(static_cast<int>(i));
  }
  for (std::size_t i = 0; i < threads_.size(); ++i) {
    if (!threads_[i].field.empty() && near(threads_[i].field.box(), threads_[i].height * slope + radius + 1))
      out.threads.push_back(static_cast<int>(i));
  }
  return out;
}

Hit Surfaces::hit(const Sight& sight, double radius, const Candidates& among) const {
  Hit best;
  best.at = sight.foot;
  for (const int i : among.cards) hit_card(i, sight, radius, best);
  for (const int i : among.solids) hit_solid(i, sight, radius, best);
  for (const int i : among.threads) hit_threads(i, sight, radius, best);
  return best;
}

void Surfaces::hit_card(int index, const Sight& sight, double radius, Hit& best) const {
  const Card& card = cards_[static_cast<std::size_t>(index)];
  const Vec2 p = card.card_from_table * sight.at(sheet_plane_z);
  const double over_x = std::abs(p.x()) - card.width / 2, over_y = std::abs(p.y()) - card.height / 2;
  if (over_x >= radius || over_y >= radius) return;
  if (over_x > -radius || over_y > -radius) best.near_edge = best.near_edge || radius > 0;
  if (over_x > 0 || over_y > 0) return;
  const Vec2 nominal(p.x() / card.scale_x, p.y() / card.scale_y);
  const Print print = card.columns > 0 ? board_print(card, nominal.x() + card.columns * sheet::square / 2,
                                                     card.rows * sheet::square / 2 - nominal.y(), radius)
                                       : tag_print(card, nominal, radius);
  const StrokeField::Nearest stroke = card.print.nearest(nominal);
  best.near_edge = best.near_edge || (radius > 0 && (print.near_edge || std::abs(stroke.gap) < radius));
  best.surface = print.black || stroke.gap < 0 ? Surface::ink : Surface::paper;
  best.index = index;
}

void Surfaces::hit_solid(int index, const Sight& sight, double radius, Hit& best) const {
  const Solid& solid = solids_[static_cast<std::size_t>(index)];
  const Vec2 top = sight.at(solid.thickness);
  const double run = (top - sight.foot).norm();
  if (solid.field.signed_distance(top) > std::min(run + radius + 1.5, solid.field.reach() - 0.01)) return;
  if (radius > 0) {
    best.near_edge =
        best.near_edge || solid.field.edge_within(top, radius) || solid.field.edge_within(sight.foot, radius);
  }
  const auto take = [&](Surface surface, double z) {
    best.surface = surface;
    best.index = index;
    best.detail = 0;
    best.z = z;
    best.at = sight.at(z);
  };
  if (solid.field.inside(top)) {
    if (solid.thickness > best.z)
      take(solid.panel != nullptr ? Surface::panel_face : Surface::tool_face, solid.thickness);
    return;
  }
  const auto wall = solid.field.first_crossing(top, sight.foot);
  if (!wall) return;
  best.near_edge = best.near_edge || radius > 0;
  const double z = solid.thickness * (1 - wall->along);
  if (z <= best.z) return;
  take(Surface::wall, z);
  best.normal = wall->normal;
}

void Surfaces::hit_threads(int index, const Sight& sight, double radius, Hit& best) const {
  const ThreadGroup& group = threads_[static_cast<std::size_t>(index)];
  const StrokeField::Nearest stroke = group.field.nearest(sight.at(group.height));
  if (radius > 0 && (std::abs(stroke.gap) < radius || (stroke.gap < 0 && stroke.half_width < radius)))
    best.near_edge = true;
  if (stroke.gap >= 0 || group.height <= best.z) return;
  best.surface = Surface::thread;
  best.index = index;
  best.detail = stroke.tag;
  best.z = group.height;
  best.at = sight.at(group.height);
}

}  // namespace chalkfold::demo
