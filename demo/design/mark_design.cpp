// SPDX-License-Identifier: Apache-2.0
#include "demo/design/mark_design.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "demo/base/noise.h"
#include "demo/base/stroke_font.h"
#include "demo/design/edge_cut.h"

namespace chalkfold::demo {

namespace {

constexpr double full_turn = 2 * std::numbers::pi;
constexpr double border_zone = 42;  // mm along the edge that match marks and needle rows may fill
constexpr double clear = 14;        // mm between marks of different kinds

/// Finds places for marks, one after the other.
class Marking {
 public:
  Marking(std::uint64_t seed, const MarkDesignOptions& options) : random_(mixed(seed) ^ 0x3A2CULL), options_(options) {
    constexpr std::array kinds = {DesignKind::cushion_top, DesignKind::back_inner, DesignKind::back_outer,
                                  DesignKind::front,       DesignKind::side_left,  DesignKind::side_right,
                                  DesignKind::back_inner,  DesignKind::cushion_top};
    out_.design = panel_design(kinds[static_cast<std::size_t>(random_.integer(0, static_cast<int>(kinds.size()) - 1))]);
    strip(out_.design);
    for (const DesignEdge& e : out_.design.edges) {
      edges_.push_back(sampled(e, 1.0));
      outline_.insert(outline_.end(), edges_.back().begin(), edges_.back().end());
      edges_.back().push_back(e.to);
    }
  }

  MarkedPanel marked() {
    if (options_.marks) {
      add_border_marks();
      add_needle_lines();
      add_centre();
      add_grain();
      add_writing();
      add_awl_holes();
    }
    if (options_.clutter) add_clutter();
    return std::move(out_);
  }

 private:
  static void strip(PanelDesign& d) {
    d.matches.clear();
    d.notches.clear();
    d.needle_lines.clear();
    d.centre.reset();
    d.grain.reset();
    d.written.clear();
    d.awl_holes.clear();
  }

  /// Points inside the panel, clear of its edge, its cut-outs and of what was placed before.
  bool free(const Polyline& points, double from_edge) const {
    return std::all_of(points.begin(), points.end(), [&](const Vec2& p) {
      if (!geometry::contains(outline_, p) || geometry::distance_to(outline_, p, true) < from_edge) return false;
      for (const Polyline& hole : out_.design.holes) {
        if (geometry::contains(hole, p) || geometry::distance_to(hole, p, true) < clear) return false;
      }
      return std::all_of(taken_.begin(), taken_.end(), [&](const Vec2& t) { return (t - p).norm() > clear; });
    });
  }
  void take(const Polyline& points) { taken_.insert(taken_.end(), points.begin(), points.end()); }

  Vec2 somewhere() {
    const geometry::Box box = geometry::bounding_box(outline_);
    return {random_.uniform(box.min.x(), box.max.x()), random_.uniform(box.min.y(), box.max.y())};
  }

  static Polyline stretch(const Vec2& a, const Vec2& b) {
    Polyline out;
    const int n = std::max(1, static_cast<int>((b - a).norm() / 6));
    for (int k = 0; k <= n; ++k) out.push_back(a + (b - a) * k / n);
    return out;
  }

  /// Match marks and notches share the edge; each keeps its distance from the next and from corners, but for match marks
  /// that are wanted there.
  void add_border_marks() {
    const int wanted = random_.integer(5, 9), notches = random_.integer(0, 3);
    for (int n = 0, trial = 0; n < wanted + notches && trial < 200; ++trial) {
      const bool notch = n >= wanted;
      const int edge = random_.integer(0, static_cast<int>(edges_.size()) - 1);
      const double total = geometry::length(edges_[static_cast<std::size_t>(edge)], false);
      const bool at_corner = !notch && random_.chance(0.15);
      const double at = at_corner ? random_.uniform(4, 9) : random_.uniform(34, std::max(35.0, total - 34));
      if (at > total - 12) continue;
      const EdgePoint e = at_share(edges_[static_cast<std::size_t>(edge)], at / total);
      constexpr double apart = 42;  // mm, between marks on the edge
      const bool near =
          std::any_of(on_edge_.begin(), on_edge_.end(), [&](const Vec2& p) { return (p - e.at).norm() < apart; });
      if (near || near_axis_end(e.at)) continue;
      on_edge_.push_back(e.at);
      notch ? add_notch(edge, at / total) : add_match(edge, at / total, at_corner, e);
      ++n;
    }
  }

  /// A centre line may come down to the edge there.
  bool near_axis_end(const Vec2& p) const { return out_.design.symmetric && std::abs(p.x()) < 30; }

  void add_notch(int edge, double along) {
    constexpr std::array kinds = {NotchKind::vee, NotchKind::round, NotchKind::slit};
    const NotchKind kind = kinds[static_cast<std::size_t>(random_.integer(0, 2))];
    const double depth = random_.uniform(kind == NotchKind::round ? 4 : 3, 8);
    const double width = kind == NotchKind::vee     ? depth * random_.uniform(0.8, 1.3)
                         : kind == NotchKind::round ? std::min(2 * depth - 2, random_.uniform(4, 6))
                                                    : random_.uniform(0.5, 0.9);
    out_.design.notches.push_back({edge, along, kind, depth, width});
  }

  void add_match(int edge, double along, bool at_corner, const EdgePoint& e) {
    MatchAt m{edge, along, random_.uniform(14, 30)};
    const double kind = random_.uniform();
    if (!at_corner && kind > 0.6) m.strokes = kind > 0.85 ? 3 : 2;
    m.spacing = random_.uniform(6, 10);
    out_.design.matches.push_back(m);
    take(stretch(e.at, Vec2(e.at + m.length * e.inward)));
    if (at_corner || !random_.chance(0.35)) return;
    const double height = random_.uniform(11, 18), side = random_.chance(0.5) ? 1 : -1;
    const double aside = 0.5 * (m.strokes - 1) * m.spacing + 7 + height * glyph_width / 2;
    const Vec2 middle = e.at + (8 + height / 2) * e.inward + side * aside * e.along();
    const double angle =
        std::atan2(e.inward.y(), e.inward.x()) - full_turn / 4 + (random_.chance(0.5) ? 0 : full_turn / 2);
    write(std::to_string(random_.integer(0, 9)), "text", middle, height, angle,
          static_cast<int>(out_.design.matches.size()) - 1);
  }

  void write(const std::string& text, const std::string& kind, const Vec2& middle, double height, double angle,
             int match) {
    const double width = height * (glyph_step * static_cast<double>(text.size() - 1) + glyph_width);
    const Vec2 corner = middle - geometry::Rigid2{angle, Vec2::Zero()} * Vec2(width / 2, height / 2);
    out_.design.written.push_back({text, kind, corner, height, angle, true, match});
    const Vec2 across = geometry::Rigid2{angle, Vec2::Zero()} * Vec2(width / 2, 0),
               up = geometry::Rigid2{angle, Vec2::Zero()} * Vec2(0, height / 2);
    for (const Vec2& from : {Vec2(middle - across - up), Vec2(middle - across), Vec2(middle - across + up)})
      take(stretch(from, Vec2(from + 2 * across)));
  }

  void add_needle_lines() {
    const int wanted = random_.integer(0, 2);
    for (int n = 0; n < wanted; ++n) {
      const int edge = random_.integer(0, static_cast<int>(edges_.size()) - 1);
      const auto used = [&](const NeedleLine& l) { return l.edge == edge; };
      if (std::any_of(out_.design.needle_lines.begin(), out_.design.needle_lines.end(), used)) continue;
      NeedleLine line{.edge = edge,
                      .from_edge = random_.uniform(8, 14),
                      .pitch = random_.uniform(2.5, 7),
                      .hole = random_.uniform(0.8, 1.6),
                      .rim = random_.uniform(0.05, 0.2),
                      .worn_share = random_.chance(0.5) ? random_.uniform(0.1, 0.35) : 0};
      line.hole = std::min(line.hole, line.pitch / 3);
      out_.design.needle_lines.push_back(line);
      if (!random_.chance(0.35)) continue;
      line.from_edge += random_.uniform(5, 7);  // top-stitching
      out_.design.needle_lines.push_back(line);
    }
  }

  void add_centre() {
    if (!out_.design.symmetric || !random_.chance(0.8)) return;
    const std::size_t half = out_.design.edges.size() / 2;
    double low = out_.design.edges[0].from.y() + random_.uniform(3, 10),
           high = out_.design.edges[half].from.y() - random_.uniform(3, 10);
    for (const Polyline& hole : out_.design.holes) {  // from the lower cut-out to the upper one
      const geometry::Box box = geometry::bounding_box(hole);
      if (box.centre().y() < 0)
        low = std::max(low, box.max.y() + 8);
      else
        high = std::min(high, box.min.y() - 8);
    }
    if (random_.chance(0.4)) (random_.chance(0.5) ? low : high) = low + (high - low) * random_.uniform(0.4, 0.6);
    if (high - low < 60) return;
    out_.design.centre = {{{0, low}, {0, high}}};
    take(stretch({0, low}, {0, high}));
  }

  void add_grain() {
    if (!random_.chance(0.7)) return;
    constexpr std::array heads = {GrainHead::open, GrainHead::filled, GrainHead::both, GrainHead::open};
    for (int trial = 0; trial < 80; ++trial) {
      const Vec2 tail = somewhere();
      const double angle = random_.integer(0, 3) * full_turn / 4 + random_.uniform(-0.12, 0.12);
      const Vec2 head = tail + random_.uniform(90, 150) * Vec2(std::cos(angle), std::sin(angle));
      const Vec2 side = 10 * Vec2(-std::sin(angle), std::cos(angle));
      Polyline points = stretch(tail, head);
      for (const Vec2& p : stretch(Vec2(tail + side), Vec2(head + side))) points.push_back(p);
      for (const Vec2& p : stretch(Vec2(tail - side), Vec2(head - side))) points.push_back(p);
      if (!free(points, border_zone)) continue;
      take(points);
      out_.design.grain = {{tail, head}};
      out_.design.grain_head = heads[static_cast<std::size_t>(random_.integer(0, 3))];
      return;
    }
  }

  /// The underside letter and up to two other writings, in the panel's inside.
  void add_writing() {
    struct Wanted {
      std::string text, kind;
      double height;
    };
    std::vector<Wanted> wanted;
    if (random_.chance(0.7)) wanted.push_back({"U", "underside", random_.uniform(25, 80)});
    const std::array<std::string, 6> other = {"L", "R", "7", "12", "3", "S"};
    for (int n = random_.integer(0, 2); n > 0; --n)
      wanted.push_back({other[static_cast<std::size_t>(random_.integer(0, 5))], "text", random_.uniform(22, 45)});
    for (const Wanted& w : wanted) {
      for (int trial = 0; trial < 80; ++trial) {
        const Vec2 middle = somewhere();
        const double angle = random_.uniform(0, full_turn), reach = w.height * (w.text.size() > 1 ? 0.95 : 0.62);
        Polyline ring{middle};
        for (int k = 0; k < 16; ++k)
          ring.push_back(middle + reach * Vec2(std::cos(k * full_turn / 16), std::sin(k * full_turn / 16)));
        if (!free(ring, border_zone - 12)) continue;
        write(w.text, w.kind, middle, w.height, angle, -1);
        break;
      }
    }
  }

  void add_awl_holes() {
    const int wanted = random_.integer(0, 3);
    for (int n = 0, trial = 0; n < wanted && trial < 100; ++trial) {
      const Vec2 at = somewhere();
      if (!free({at}, border_zone - 10)) continue;
      out_.design.awl_holes.push_back({at, random_.uniform(1.5, 6)});
      take({at});
      ++n;
    }
  }

  /// A gently curved line through a free place; empty when none is found.
  Polyline bent_line(double least, double most, double bend, double from_edge) {
    for (int trial = 0; trial < 60; ++trial) {
      const Vec2 at = somewhere();
      const double total = random_.uniform(least, most);
      double heading = random_.uniform(0, full_turn);
      const double turn = random_.uniform(-bend, bend);
      constexpr double step = 3;  // mm
      Polyline line{at};
      for (double passed = 0; passed < total; passed += step, heading += turn * step)
        line.push_back(line.back() + step * Vec2(std::cos(heading), std::sin(heading)));
      if (free(line, from_edge)) return line;
    }
    return {};
  }

  void add_clutter() {
    for (int n = random_.integer(0, 3); n > 0; --n) {
      const Polyline line = bent_line(40, 180, 0.004, 12);
      if (!line.empty()) out_.clutter.creases.push_back({line, random_.uniform(1.2, 3.5), random_.uniform(0.05, 0.16)});
    }
    if (random_.chance(0.3)) {
      const Polyline line = bent_line(120, 300, 0.002, 20);
      if (!line.empty()) out_.clutter.sewn_lines.push_back(line);
      take(line);
    }
    if (random_.chance(0.35)) {
      const Polyline line = bent_line(30, 90, 0.05, 8);
      if (!line.empty()) out_.clutter.threads.push_back(line);
    }
  }

  Random random_;
  MarkDesignOptions options_;
  MarkedPanel out_;
  /// with both ends
  std::vector<Polyline> edges_;
  Polyline outline_, taken_, on_edge_;
};

}  // namespace

MarkedPanel mark_design(std::uint64_t seed, const MarkDesignOptions& options) {
  return Marking(seed, options).marked();
}

}  // namespace chalkfold::demo
