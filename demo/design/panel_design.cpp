// SPDX-License-Identifier: Apache-2.0
#include "demo/design/panel_design.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>

#include "demo/base/stroke_font.h"

namespace chalkfold::demo {

namespace {

DesignEdge straight(const Vec2& a, const Vec2& b) { return {a, a + (b - a) / 3, b - (b - a) / 3, b}; }

Vec2 flipped(const Vec2& p) { return {-p.x(), p.y()}; }

DesignEdge flipped(const DesignEdge& e) {
  return {flipped(e.to), flipped(e.control2), flipped(e.control1), flipped(e.from)};
}

/// Completes the right half (from the axis below to the axis above) with its mirror image.
std::vector<DesignEdge> both_halves(std::vector<DesignEdge> right) {
  const std::size_t n = right.size();
  for (std::size_t i = 0; i < n; ++i) right.push_back(flipped(right[n - 1 - i]));
  return right;
}

/// A slot with round ends along x (a disc when width equals height).
Polyline slot(const Vec2& centre, double width, double height) {
  constexpr int steps = 48;
  const double radius = height / 2, shift = width / 2 - radius;
  Polyline out;
  for (int half = 0; half < 2; ++half) {
    for (int k = 0; k <= steps; ++k) {
      const double angle = std::numbers::pi * (half - 0.5 + static_cast<double>(k) / steps);
      out.push_back(centre + Vec2((half == 0 ? shift : -shift) + radius * std::cos(angle), radius * std::sin(angle)));
    }
  }
  if (shift == 0) {  // the two half discs share their ends
    out.pop_back();
    out.erase(out.begin() + steps);
  }
  return out;
}

PanelDesign cushion_top() {
  PanelDesign d{.name = "cushion top", .symmetric = true};
  d.edges = both_halves({{{0, -235}, {80, -235}, {150, -240}, {222, -228}},
                         {{222, -228}, {245, -110}, {262, 30}, {250, 130}},
                         {{250, 130}, {243, 200}, {215, 232}, {150, 238}},
                         {{150, 238}, {104, 242}, {50, 246}, {0, 246}}});
  d.matches = {{0, 0.55}, {1, 0.30, 25}, {1, 0.85, 20}, {3, 0.35}, {5, 0.5, 24}, {6, 0.42}, {7, 0.62, 19}};
  d.notches = {{3, 0.97, NotchKind::vee, 5}};
  d.centre = {{{0, -228}, {0, 236}}};
  return d;
}

PanelDesign front() {
  PanelDesign d{.name = "front", .symmetric = true};
  d.edges = both_halves({{{0, -82}, {80, -82}, {150, -78}, {205, -60}},
                         {{205, -60}, {214, -20}, {228, 30}, {236, 72}},
                         {{236, 72}, {150, 80}, {70, 66}, {0, 66}}});
  d.matches = {{0, 0.6, 18}, {2, 0.4}, {3, 0.35, 18}, {5, 0.55}};
  d.centre = {{{0, -78}, {0, 62}}};
  d.needle_lines = {{.edge = 1}, {.edge = 4}};
  return d;
}

PanelDesign side_left() {
  PanelDesign d{.name = "side left", .symmetric = false};
  d.edges = {{{-225, -70}, {-80, -84}, {90, -86}, {230, -78}},
             {{230, -78}, {232, -30}, {226, 20}, {214, 52}},
             {{214, 52}, {80, 48}, {-90, 76}, {-228, 92}},
             {{-228, 92}, {-240, 40}, {-236, -30}, {-225, -70}}};
  d.matches = {{0, 0.3}, {0, 0.75, 20}, {2, 0.35, 24}, {2, 0.7}};
  d.notches = {{1, 0.5, NotchKind::vee, 6}, {3, 0.5, NotchKind::round, 6}};
  d.grain = {{{-60, -20}, {60, -14}}};
  d.written = {{"L", "text", {-150, -18}, 36}};
  return d;
}

PanelDesign back_inner() {
  PanelDesign d{.name = "back inner", .symmetric = true};
  d.edges = both_halves({{{0, -270}, {70, -270}, {130, -272}, {188, -262}},
                         {{188, -262}, {205, -120}, {236, 40}, {222, 150}},
                         {{222, 150}, {213, 222}, {160, 264}, {90, 272}},
                         {{90, 272}, {62, 275.2}, {30, 280}, {0, 280}}});
  d.matches = {{0, 0.5}, {1, 0.35, 25}, {1, 0.8}, {5, 0.5, 20}, {6, 0.3}, {6, 0.7, 24}};
  d.centre = {{{0, -262}, {0, 150}}};
  d.grain = {{{-120, -60}, {-116, 70}}};
  d.written = {{"U", "underside", {92, -150}, 46}, {"7", "text", {-150, 130}, 38}};
  return d;
}

PanelDesign back_outer() {
  PanelDesign d{.name = "back outer", .symmetric = true};
  d.edges = both_halves({straight({0, -285}, {196, -285}),
                         {{196, -285}, {214, -120}, {224, 80}, {216, 230}},
                         {{216, 230}, {214, 258}, {200, 274}, {176, 276}},
                         {{176, 276}, {120, 281}, {60, 292}, {0, 292}}});
  d.holes = {slot({0, 170}, 84, 30), slot({0, -215}, 26, 26)};
  d.matches = {{0, 0.5, 20}, {1, 0.25}, {1, 0.75, 24}, {5, 0.3}, {6, 0.5, 20}};
  d.notches = {{6, 0.8, NotchKind::slit, 6}};
  d.needle_lines = {{.edge = 1}, {.edge = 6}};
  d.centre = {{{0, -190}, {0, 140}}};
  return d;
}

PanelDesign bolster_left() {
  PanelDesign d{.name = "bolster left", .symmetric = false};
  d.edges = {{{-72, -180}, {-20, -192}, {30, -186}, {66, -168}},
             {{66, -168}, {92, -60}, {80, 80}, {40, 150}},
             {{40, 150}, {20, 205}, {-30, 212}, {-48, 158}},
             {{-48, 158}, {-66, 104}, {-84, -50}, {-72, -180}}};
  d.matches = {{0, 0.5, 20}, {1, 0.35, 24}, {1, 0.8}, {3, 0.5, 24}};
  d.written = {{"L", "text", {-18, -40}, 44}};
  return d;
}

PanelDesign piping_strip() {
  PanelDesign d{.name = "piping strip", .symmetric = false};
  d.edges = {straight({-23, -270}, {23, -270}), straight({23, -270}, {23, 270}), straight({23, 270}, {-23, 258}),
             straight({-23, 258}, {-23, -270})};
  d.matches = {{1, 0.3, 14}, {1, 0.7, 16}, {3, 0.45, 15}};
  return d;
}

PanelDesign flag() {
  PanelDesign d{.name = "flag", .symmetric = false};
  d.edges = {{{-150, -100}, {-50, -130}, {60, -40}, {160, -70}},
             straight({160, -70}, {120, 30}),
             straight({120, 30}, {170, 115}),
             {{170, 115}, {60, 140}, {-50, 70}, {-150, 110}},
             straight({-150, 110}, {-150, -100})};
  d.notches = {{4, 0.25, NotchKind::vee, 8}};
  d.grain = {{{-80, -40}, {40, 50}}};
  d.written = {{"R", "text", {30, -30}, 40}};
  return d;
}

PanelDesign bench() {
  PanelDesign d{.name = "bench cover", .symmetric = true};
  d.edges = both_halves({{{0, -222}, {250, -222}, {520, -232}, {735, -226}},
                         {{735, -226}, {748, -110}, {752, 40}, {746, 128}},
                         {{746, 128}, {742, 190}, {712, 222}, {655, 226}},
                         {{655, 226}, {430, 236}, {210, 214}, {0, 214}}});
  d.matches = {{0, 0.1},     {0, 0.8, 24}, {1, 0.4},     {3, 0.3, 20}, {3, 0.92},
               {4, 0.4, 24}, {6, 0.6},     {7, 0.3, 19}, {7, 0.75}};
  d.notches = {{3, 0.6, NotchKind::vee, 5}};
  d.centre = {{{0, -214}, {0, 206}}};
  d.grain = {{{-420, -40}, {-270, -34}}};
  return d;
}

PanelDesign mat() {
  PanelDesign d{.name = "mat", .symmetric = false};
  d.edges = {{{-690, -460}, {-200, -480}, {250, -470}, {700, -440}},
             {{700, -440}, {715, -100}, {690, 200}, {660, 470}},
             {{660, 470}, {200, 478}, {-250, 440}, {-640, 455}},
             {{-640, 455}, {-705, 150}, {-670, -200}, {-690, -460}}};
  d.holes = {slot({60, 40}, 260, 90)};
  d.matches = {{0, 0.2}, {0, 0.7, 24}, {1, 0.5}, {2, 0.45, 20}, {3, 0.35}};
  return d;
}

}  // namespace

PanelDesign mirrored(const PanelDesign& design, const std::string& name) {
  PanelDesign out = design;
  out.name = name;
  const int last = static_cast<int>(design.edges.size()) - 1;
  for (int i = 0; i <= last; ++i)
    out.edges[static_cast<std::size_t>(i)] = flipped(design.edges[static_cast<std::size_t>(last - i)]);
  for (Polyline& hole : out.holes) {
    for (Vec2& p : hole) p = flipped(p);
    std::reverse(hole.begin(), hole.end());
  }
  for (MatchAt& m : out.matches) m.edge = last - m.edge, m.along = 1 - m.along;
  for (NotchAt& n : out.notches) n.edge = last - n.edge, n.along = 1 - n.along;
  for (NeedleLine& n : out.needle_lines) n.edge = last - n.edge;
  for (AwlHole& h : out.awl_holes) h.at = flipped(h.at);
  for (auto* line : {&out.centre, &out.grain}) {
    if (*line) (**line) = {flipped((**line)[0]), flipped((**line)[1])};
  }
  for (WrittenOn& w : out.written) {
    const double width = w.height * (glyph_step * static_cast<double>(w.text.size()) - glyph_step + glyph_width);
    w.lower_left.x() = -w.lower_left.x() - width;
    std::replace(w.text.begin(), w.text.end(), 'L', 'R');
  }
  return out;
}

double mouth_width(const NotchAt& notch) {
  if (notch.width > 0) return notch.width;
  switch (notch.kind) {
    case NotchKind::vee:
      return notch.depth;
    case NotchKind::round:
      return 5;
    case NotchKind::slit:
      return 0.7;
  }
  return 0;
}

PanelDesign panel_design(DesignKind kind) {
  switch (kind) {
    case DesignKind::cushion_top:
      return cushion_top();
    case DesignKind::front:
      return front();
    case DesignKind::side_left:
      return side_left();
    case DesignKind::side_right:
      return mirrored(side_left(), "side right");
    case DesignKind::back_inner:
      return back_inner();
    case DesignKind::back_outer:
      return back_outer();
    case DesignKind::bolster_left:
      return bolster_left();
    case DesignKind::bolster_right:
      return mirrored(bolster_left(), "bolster right");
    case DesignKind::piping_strip:
      return piping_strip();
    case DesignKind::flag:
      return flag();
    case DesignKind::bench:
      return bench();
    case DesignKind::mat:
      return mat();
  }
  throw std::logic_error("unknown panel kind");
}

Polyline sampled(const DesignEdge& e, double step) {
  const double upper = (e.control1 - e.from).norm() + (e.control2 - e.control1).norm() + (e.to - e.control2).norm();
  const int n = std::max(1, static_cast<int>(std::ceil(upper * 1.25 / step)));  // the parameter does not run evenly
  Polyline out;
  for (int i = 0; i < n; ++i) {
    const double t = static_cast<double>(i) / n, u = 1 - t;
    out.push_back(u * u * u * e.from + 3 * u * u * t * e.control1 + 3 * u * t * t * e.control2 + t * t * t * e.to);
  }
  return out;
}

bool starts_in_corner(const PanelDesign& design, std::size_t i) {
  const DesignEdge& before = design.edges[(i + design.edges.size() - 1) % design.edges.size()];
  const Vec2 in = (before.to - before.control2).normalized(),
             out = (design.edges[i].control1 - design.edges[i].from).normalized();
  const double smooth_to = std::cos(15 * std::numbers::pi / 180);
  return in.dot(out) < smooth_to;
}

}  // namespace chalkfold::demo
