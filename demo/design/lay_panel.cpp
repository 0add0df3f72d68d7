// SPDX-License-Identifier: Apache-2.0
#include "demo/design/lay_panel.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <string>

#include "demo/base/noise.h"
#include "demo/base/stroke_font.h"
#include "demo/design/edge_cut.h"
#include "demo/design/hand_drawing.h"
#include "demo/design/hide_design.h"
#include "demo/design/panel_fray.h"

namespace chalkfold::demo {

namespace {

constexpr double step_mm = 0.7;  // outline points this close: a chord leaves a 50 mm arc by 0.001 mm

std::string name_of(NotchKind kind) {
  switch (kind) {
    case NotchKind::vee:
      return "vee";
    case NotchKind::round:
      return "round";
    case NotchKind::slit:
      return "slit";
  }
  return "";
}

Polyline circle(const Vec2& centre, double diameter) {
  constexpr int corners = 48;  // a chord leaves a 6 mm hole by 0.006 mm
  Polyline out;
  for (int k = 0; k < corners; ++k) {
    const double angle = 2 * std::numbers::pi * k / corners;
    out.push_back(centre + diameter / 2 * Vec2(std::cos(angle), std::sin(angle)));
  }
  return out;
}

class Laying {
 public:
  Laying(const PanelDesign& design, const LayOptions& options)
      : design_(design), options_(options), random_(mixed(options.seed) ^ 0x5EA7ULL) {
    for (const DesignEdge& e : design.edges) {
      edges_.push_back(sampled(e, step_mm));
      edges_.back().push_back(e.to);
      for (const Vec2& p : edges_.back()) half_width_ = std::max(half_width_, std::abs(p.x()));
    }
  }

  LaidPanel lay() {
    panel_.name = design_.name;
    panel_.tag = options_.tag;
    panel_.thickness = options_.thickness;
    panel_.symmetric = design_.symmetric;
    panel_.material = options_.material;
    panel_.core = options_.core;
    panel_.table_from_panel = options_.table_from_panel;
    panel_.chalk.colours = {options_.chalk};
    panel_.chalk.strength = options_.chalk_strength;
    panel_.chalk.broken = options_.chalk_broken;
    lay_outline();
    for (const NeedleLine& line : design_.needle_lines) lay_needle_row(line);
    lay_awl_holes();
    lay_clutter();
    if (options_.chalked) lay_chalk();
    if (options_.frayed) fray(panel_, options_.seed, options_.longest_fray);
    if (options_.loose_threads > 0) add_loose_threads(panel_, options_.loose_threads, options_.seed);
    return std::move(panel_);
  }

 private:
  Vec2 worn(const Vec2& p) const {
    const double share = p.x() / half_width_, fade = std::min(1.0, share * share);
    const auto wave = [&](std::uint32_t k) {
      const auto x = static_cast<float>(p.x() / 260), y = static_cast<float>(p.y() / 260);
      return static_cast<double>(value_noise(x + 40, y + 40, static_cast<std::uint32_t>(options_.seed) + k));
    };
    Vec2 out = p + options_.wear.crooked * fade * Vec2(wave(101), wave(202));
    if (p.x() > 0) out.x() += p.x() * options_.wear.stretch_right_percent / 100;
    return out;
  }
  Vec2 on_table(const Vec2& p) const { return options_.table_from_panel * worn(p); }
  Polyline on_table(const Polyline& line) const {
    Polyline out;
    for (const Vec2& p : line) out.push_back(on_table(p));
    return out;
  }

  Polyline joined(bool notches, bool slits) const {
    Polyline out;
    for (std::size_t i = 0; i < edges_.size(); ++i) {
      Polyline part = notches ? notched(edges_[i], static_cast<int>(i), design_.notches, slits)
                              : Polyline(edges_[i].begin(), edges_[i].end() - 1);
      out.insert(out.end(), part.begin(), part.end());
    }
    return out;
  }

  void lay_outline() {
    panel_.design_outline = joined(false, false);
    panel_.outline_without_notches = on_table(panel_.design_outline);
    panel_.outline = on_table(joined(true, false));
    panel_.seen_outline = on_table(joined(true, true));
    for (const Polyline& hole : design_.holes) panel_.holes.push_back(on_table(hole));
    for (std::size_t i = 0; i < design_.edges.size(); ++i) {
      if (starts_in_corner(design_, i)) panel_.corners.push_back(on_table(design_.edges[i].from));
    }
    if (design_.symmetric) {
      // Half the edges lie on either side, so the axis meets the outline at the start of the first and of the middle
      // one.
      panel_.axis = {on_table(design_.edges[0].from), on_table(design_.edges[design_.edges.size() / 2].from)};
    }
    for (const SlotInPanel& s : design_.slots) {
      const Vec2 mouth = on_table(s.mouth);
      panel_.slots.push_back(
          {mouth, on_table(s.end), (on_table(Vec2(s.mouth + s.direction)) - mouth).normalized(), s.width, s.depth});
    }
    for (const InnerCorner& c : design_.inner_corners) panel_.inner_corners.push_back({on_table(c.at), c.angle});
    for (const NotchAt& n : design_.notches) {
      const EdgePoint e = at_share(edges_[static_cast<std::size_t>(n.edge)], n.along);
      panel_.marks.push_back({.kind = "notch",
                              .points = {on_table(e.at), on_table(Vec2(e.at + n.depth * e.inward))},
                              .style = name_of(n.kind),
                              .width = mouth_width(n),
                              .depth = n.depth});
    }
  }

  void lay_needle_row(const NeedleLine& needle) {
    const Polyline& line = edges_[static_cast<std::size_t>(needle.edge)];
    Polyline beside;
    for (int k = 0; k <= 200; ++k) {
      const EdgePoint e = at_share(line, k / 200.0);
      beside.push_back(e.at + needle.from_edge * e.inward);
    }
    SewnRow row{
        .holes = {}, .pitch = needle.pitch, .hole = needle.hole, .rim = needle.rim, .allowance = needle.from_edge};
    const double total = geometry::length(beside, false);
    const int holes = static_cast<int>((total - 2 * needle.from_edge) / needle.pitch);
    const auto seed = static_cast<std::uint32_t>(mixed(options_.seed + panel_.needle_rows.size()));
    constexpr float worn_stretch = 35;  // mm
    for (int k = 0; k < holes; ++k) {
      const double at = needle.from_edge + k * needle.pitch;
      // Noise in [-1, 1] whose values crowd in the middle: 1.3 brings its share below the bound near to what is asked.
      const double wear = value_noise(static_cast<float>(at) / worn_stretch, 0.5F, seed);
      if (needle.worn_share > 0 && wear < 1.3 * needle.worn_share - 0.65) continue;
      row.holes.push_back(on_table(at_share(beside, at / total).at));
    }
    panel_.needle_rows.push_back(std::move(row));
  }

  void lay_awl_holes() {
    for (const AwlHole& hole : design_.awl_holes) {
      const Vec2 at = on_table(hole.at);
      panel_.awl_holes.push_back(circle(at, hole.diameter));
      panel_.marks.push_back({.kind = "hole", .points = {at}, .diameter = hole.diameter});
    }
  }

  void lay_clutter() {
    const Clutter& clutter = options_.clutter;
    for (const Crease& c : clutter.creases) panel_.creases.push_back({on_table(c.line), c.width, c.depth});
    constexpr double stitch = 3, gap = 1, over_face = 0.1, over_face_loose = 0.3;  // mm
    Threads sewn{.strokes = {}, .colours = {clutter.sewn_colour}, .height = options_.thickness + over_face};
    for (const Polyline& line : clutter.sewn_lines) {
      const Polyline on = on_table(line);
      const double total = geometry::length(on, false);
      for (double at = 0; at + stitch <= total; at += stitch + gap)
        sewn.strokes.push_back({at_share(on, at / total).at, at_share(on, (at + stitch) / total).at, 0.4, 0});
    }
    Threads loose{.strokes = {}, .colours = {clutter.thread_colour}, .height = options_.thickness + over_face_loose};
    for (const Polyline& line : clutter.threads) add_strokes(loose.strokes, on_table(line), 0.25, 0);
    if (!sewn.strokes.empty()) panel_.threads.push_back(std::move(sewn));
    if (!loose.strokes.empty()) panel_.threads.push_back(std::move(loose));
  }

  void draw(const Polyline& line_on_table, double width) {
    add_strokes(panel_.chalk.strokes, hand_drawn(line_on_table, options_.chalk_wobble, random_), width / 2, 0);
  }

  void lay_chalk() {
    const double width = options_.chalk_width;
    if (design_.centre) {
      const Polyline line = on_table(Polyline(design_.centre->begin(), design_.centre->end()));
      panel_.marks.push_back({.kind = "centre", .points = line, .width = width});
      draw(line, width);
    }
    for (std::size_t k = 0; k < design_.matches.size(); ++k) lay_match(design_.matches[k], static_cast<int>(k), width);
    if (design_.grain) lay_grain(width);
    for (const WrittenOn& w : design_.written) lay_writing(w, width);
    for (const RingAt& ring : design_.rings) {
      const Polyline line = on_table(ring_line(ring));
      panel_.marks.push_back({.kind = "ring", .points = line, .width = width});
      add_strokes(panel_.chalk.strokes, line, width / 2, 0);
    }
  }

  void lay_match(const MatchAt& m, int group, double width) {
    const Polyline& edge = edges_[static_cast<std::size_t>(m.edge)];
    const double lean = random_.uniform(-0.25, 0.25), total = geometry::length(edge, false);
    for (int k = 0; k < m.strokes; ++k) {
      const double aside = (k - 0.5 * (m.strokes - 1)) * m.spacing;
      const EdgePoint e = at_share(edge, m.along + aside / total);
      const double tilt = k == 0 ? lean : lean + random_.uniform(-0.06, 0.06);
      const Vec2 way = e.inward - tilt * e.along();
      const Polyline line = {on_table(e.at), on_table(Vec2(e.at + m.length * way.normalized()))};
      const double own_width = width * random_.uniform(0.8, 1.2);
      panel_.marks.push_back({.kind = "match", .points = line, .group = group, .width = own_width});
      draw(line, own_width);
    }
  }

  void lay_grain(double width) {
    const Vec2 tail = (*design_.grain)[0], head = (*design_.grain)[1];
    const GrainHead style = design_.grain_head;
    panel_.marks.push_back({.kind = "grain",
                            .points = {on_table(tail), on_table(head)},
                            .style = style == GrainHead::filled ? "filled" : "open",
                            .directed = style != GrainHead::both,
                            .width = width});
    draw({on_table(tail), on_table(head)}, width);
    const auto open_head = [&](const Vec2& from, const Vec2& to) {
      const Vec2 back = (from - to).normalized() * 18, side(-back.y() * 0.55, back.x() * 0.55);
      draw({on_table(Vec2(to + back + side)), on_table(to), on_table(Vec2(to + back - side))}, width);
    };
    constexpr double filled_length = 20;  // mm
    if (style == GrainHead::filled) {
      const Vec2 tip = on_table(head);
      add_filled_head(panel_.chalk.strokes, tip, (tip - on_table(tail)).normalized(), filled_length);
    } else {
      open_head(tail, head);
    }
    if (style == GrainHead::both) open_head(head, tail);
  }

  void lay_writing(const WrittenOn& written, double width) {
    constexpr int curve_rounds = 2;
    const geometry::Rigid2 panel_from_text{written.angle, written.lower_left};
    geometry::Box box;
    for (const Polyline& stroke : text_strokes(written.text, written.height)) {
      Polyline line;
      for (const Vec2& p : stroke) line.push_back(on_table(panel_from_text * p));
      for (const Vec2& p : line) box.add(p);
      draw(written.rounded ? rounded(line, curve_rounds) : line, width);
    }
    Mark mark{.kind = written.kind, .points = {box.min, box.max}, .width = width, .height = written.height};
    if (written.match >= 0) mark.group = written.match;
    mark.up = written.angle + options_.table_from_panel.angle + std::numbers::pi / 2;
    panel_.marks.push_back(std::move(mark));
  }

  const PanelDesign& design_;
  const LayOptions& options_;
  Random random_;
  /// design frame, with both ends
  std::vector<Polyline> edges_;
  double half_width_ = 1;
  LaidPanel panel_;
};

}  // namespace

LaidPanel lay_panel(const PanelDesign& design, const LayOptions& options) { return Laying(design, options).lay(); }

}  // namespace chalkfold::demo
