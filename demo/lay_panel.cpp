// SPDX-License-Identifier: Apache-2.0
#include "demo/lay_panel.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "demo/noise.h"
#include "demo/panel_fray.h"
#include "demo/stroke_font.h"

namespace chalkfold::demo {

namespace {

constexpr double step_mm = 0.7;          // outline points this close: a chord leaves a 50 mm arc by 0.001 mm
constexpr double needle_from_edge = 10;  // mm
constexpr double needle_pitch = 4;       // mm
constexpr double needle_hole = 0.8;      // mm across

/// Point and inward unit normal at a share of a polyline's length.
struct EdgePoint {
  Vec2 at, inward;
};

EdgePoint at_share(const Polyline& line, double share) {
  double left = share * length(line, false);
  for (std::size_t i = 1; i < line.size(); ++i) {
    const Vec2 d = line[i] - line[i - 1];
    const double n = d.norm();
    if (left <= n || i + 1 == line.size()) return {line[i - 1] + d * (left / n), Vec2(-d.y(), d.x()) / n};
    left -= n;
  }
  return {line.front(), Vec2::UnitX()};
}

double half_width_of(const NotchAt& notch) {
  switch (notch.kind) {
    case NotchKind::vee:
      return 0.5 * notch.depth;
    case NotchKind::round:
      return 2.5;
    case NotchKind::slit:
      return 0.35;
  }
  return 0;
}

/// The notch's own outline, from its start on the edge to its end.
Polyline notch_profile(const NotchAt& notch, const EdgePoint& e) {
  const double w = half_width_of(notch);
  const Vec2 along(e.inward.y(), -e.inward.x());
  const auto at = [&](double u, double v) { return Vec2(e.at + u * along + v * e.inward); };
  if (notch.kind == NotchKind::vee) return {at(-w, 0), at(0, notch.depth), at(w, 0)};
  if (notch.kind == NotchKind::slit) return {at(-w, 0), at(-w, notch.depth), at(w, notch.depth), at(w, 0)};
  Polyline out{at(-w, 0)};
  constexpr int steps = 16;
  for (int k = 0; k <= steps; ++k) {
    const double angle = std::numbers::pi * k / steps;
    out.push_back(at(-w * std::cos(angle), notch.depth - w + w * std::sin(angle)));
  }
  out.push_back(at(w, 0));
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

  Panel lay() {
    panel_.name = design_.name;
    panel_.tag = options_.tag;
    panel_.thickness = options_.thickness;
    panel_.symmetric = design_.symmetric;
    panel_.material = options_.material;
    panel_.core = options_.core;
    panel_.table_from_panel = options_.table_from_panel;
    panel_.chalk.colours = {options_.chalk};
    lay_outline();
    lay_needle_rows();
    if (options_.chalked) lay_chalk();
    if (options_.frayed) fray(panel_, options_.seed);
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

  /// One edge with its notches cut (slits only when asked), its end left out.
  Polyline notched(std::size_t edge, bool slits) const {
    const Polyline& line = edges_[edge];
    std::vector<NotchAt> here;
    for (const NotchAt& n : design_.notches) {
      if (n.edge == static_cast<int>(edge) && (slits || n.kind != NotchKind::slit)) here.push_back(n);
    }
    std::sort(here.begin(), here.end(), [](const NotchAt& a, const NotchAt& b) { return a.along < b.along; });
    const double total = length(line, false);
    Polyline out;
    std::size_t next = 0;
    double passed = 0;
    for (std::size_t i = 0; i + 1 < line.size(); passed += (line[i + 1] - line[i]).norm(), ++i) {
      while (next < here.size() && passed > here[next].along * total + half_width_of(here[next])) {
        const Polyline profile = notch_profile(here[next], at_share(line, here[next].along));
        out.insert(out.end(), profile.begin(), profile.end());
        ++next;
      }
      const bool cut = next < here.size() && std::abs(passed - here[next].along * total) <= half_width_of(here[next]);
      if (!cut) out.push_back(line[i]);
    }
    return out;
  }

  Polyline joined(bool notches, bool slits) const {
    Polyline out;
    for (std::size_t i = 0; i < edges_.size(); ++i) {
      Polyline part = notches ? notched(i, slits) : Polyline(edges_[i].begin(), edges_[i].end() - 1);
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
    for (const NotchAt& n : design_.notches) {
      const EdgePoint e = at_share(edges_[static_cast<std::size_t>(n.edge)], n.along);
      panel_.marks.push_back({"notch", {on_table(e.at), on_table(Vec2(e.at + n.depth * e.inward))}});
    }
  }

  void lay_needle_rows() {
    for (const int edge : design_.needle_edges) {
      const Polyline& line = edges_[static_cast<std::size_t>(edge)];
      Polyline row, beside;
      for (int k = 0; k <= 200; ++k) {
        const EdgePoint e = at_share(line, k / 200.0);
        beside.push_back(e.at + needle_from_edge * e.inward);
      }
      const int holes = static_cast<int>((length(beside, false) - 2 * needle_from_edge) / needle_pitch);
      for (int k = 0; k < holes; ++k) {
        row.push_back(on_table(at_share(beside, (needle_from_edge + k * needle_pitch) / length(beside, false)).at));
      }
      panel_.needle_rows.push_back(std::move(row));
    }
  }

  /// Chalk along a line, with the hand's wobble; the ends stay where they are.
  void draw(const Polyline& line_on_table, double width) {
    constexpr double wobble_mm = 0.35, stretch_mm = 6;
    Polyline drawn;
    const auto seed = static_cast<std::uint32_t>(random_.next());
    for (std::size_t i = 1; i < line_on_table.size(); ++i) {
      const Vec2& a = line_on_table[i - 1];
      const Vec2 d = line_on_table[i] - a;
      const int n = std::max(1, static_cast<int>(d.norm() / stretch_mm));
      const Vec2 across = Vec2(-d.y(), d.x()).normalized();
      for (int k = i == 1 ? 0 : 1; k <= n; ++k) {
        const double fade = std::min({1.0, k / 3.0, (n - k) / 3.0});
        const double off =
            wobble_mm * fade * value_noise(static_cast<float>(k) * 0.2F, static_cast<float>(i) * 3.7F, seed);
        drawn.push_back(a + d * k / n + off * across);
      }
    }
    add_strokes(panel_.chalk.strokes, drawn, width / 2, 0);
  }

  void lay_chalk() {
    const double width = options_.chalk_width;
    if (design_.centre) {
      const Polyline line = on_table(Polyline(design_.centre->begin(), design_.centre->end()));
      panel_.marks.push_back({"centre", line});
      draw(line, width);
    }
    for (const MatchAt& m : design_.matches) {
      const EdgePoint e = at_share(edges_[static_cast<std::size_t>(m.edge)], m.along);
      const double lean = random_.uniform(-0.25, 0.25);
      const Vec2 way = e.inward + lean * Vec2(-e.inward.y(), e.inward.x());
      const Polyline line = {on_table(e.at), on_table(Vec2(e.at + m.length * way.normalized()))};
      panel_.marks.push_back({"match", line});
      draw(line, width * random_.uniform(0.8, 1.2));
    }
    if (design_.grain) lay_grain(width);
    for (const WrittenOn& w : design_.written) lay_writing(w, width);
  }

  void lay_grain(double width) {
    const Vec2 tail = (*design_.grain)[0], head = (*design_.grain)[1];
    const Vec2 back = (tail - head).normalized() * 18, side(-back.y() * 0.55, back.x() * 0.55);
    panel_.marks.push_back({"grain", {on_table(tail), on_table(head)}});
    draw({on_table(tail), on_table(head)}, width);
    draw({on_table(Vec2(head + back + side)), on_table(head), on_table(Vec2(head + back - side))}, width);
  }

  void lay_writing(const WrittenOn& written, double width) {
    Box box;
    for (const Polyline& stroke : text_strokes(written.text, written.height)) {
      Polyline line;
      for (const Vec2& p : stroke) line.push_back(on_table(Vec2(written.lower_left + p)));
      for (const Vec2& p : line) box.add(p);
      draw(line, width);
    }
    panel_.marks.push_back({written.kind, {box.min, box.max}});
  }

  const PanelDesign& design_;
  const LayOptions& options_;
  Random random_;
  std::vector<Polyline> edges_;  ///< design frame, with both ends
  double half_width_ = 1;
  Panel panel_;
};

}  // namespace

Panel lay_panel(const PanelDesign& design, const LayOptions& options) { return Laying(design, options).lay(); }

}  // namespace chalkfold::demo
