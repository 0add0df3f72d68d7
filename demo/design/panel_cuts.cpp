// SPDX-License-Identifier: Apache-2.0
#include "demo/design/panel_cuts.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <numbers>

#include "demo/base/stroke_font.h"
#include "demo/design/edge_cut.h"
#include "pipeline/common/require.h"

namespace chalkfold::demo {

namespace {

constexpr double step_mm = 1;

DesignEdge straight(const Vec2& a, const Vec2& b) { return {a, a + (b - a) / 3, b - (b - a) / 3, b}; }
DesignEdge reversed(const DesignEdge& e) { return {e.to, e.control2, e.control1, e.from}; }
Vec2 left_of(const Vec2& d) { return {-d.y(), d.x()}; }
Vec2 turned(const Vec2& v, double angle) { return geometry::Rigid2{angle, Vec2::Zero()} * v; }

/// Arc of a circle that starts in a direction; up to 60 degrees a cubic leaves it by under 1e-4 of its radius.
DesignEdge arc(const Vec2& from, const Vec2& direction, double curvature, double length) {
  const double angle = curvature * length;
  if (std::abs(angle) < 1e-9) return straight(from, from + length * direction);
  const Vec2 end = turned(direction, angle), to = from + (left_of(direction) - left_of(end)) / curvature;
  const double handle = 4.0 / 3 * std::tan(angle / 4) / curvature;
  return {from, from + handle * direction, to - handle * end, to};
}

/// Both parts of an edge cut at a parameter (P. de Casteljau).
std::array<DesignEdge, 2> split(const DesignEdge& e, double t) {
  const auto between = [&](const Vec2& a, const Vec2& b) { return Vec2(a + t * (b - a)); };
  const Vec2 a = between(e.from, e.control1), b = between(e.control1, e.control2), c = between(e.control2, e.to);
  const Vec2 d = between(a, b), f = between(b, c), at = between(d, f);
  return {{{e.from, a, d, at}, {at, f, c, e.to}}};
}

/// An edge by the length run along it.
class Measured {
 public:
  explicit Measured(const DesignEdge& edge) : edge_(edge), line_(sampled(edge, step_mm)) { line_.push_back(edge.to); }
  double length() const { return geometry::length(line_, false); }
  EdgePoint at(double mm) const { return at_share(line_, mm / length()); }
  double parameter(double mm) const {
    double passed = 0;
    for (std::size_t i = 1; i < line_.size(); ++i) {
      const double n = (line_[i] - line_[i - 1]).norm();
      if (passed + n >= mm)
        return (static_cast<double>(i) - 1 + (mm - passed) / n) / static_cast<double>(line_.size() - 1);
      passed += n;
    }
    return 1;
  }
  DesignEdge before(double mm) const { return split(edge_, parameter(mm))[0]; }
  DesignEdge after(double mm) const { return split(edge_, parameter(mm))[1]; }

 private:
  DesignEdge edge_;
  Polyline line_;
};

Polyline outline_of(const std::vector<DesignEdge>& edges) {
  Polyline out;
  for (const DesignEdge& e : edges) {
    const Polyline part = sampled(e, step_mm);
    out.insert(out.end(), part.begin(), part.end());
  }
  return out;
}

Polyline outline_of(const PanelDesign& d) { return outline_of(d.edges); }

double distance_between(const Polyline& points, const Polyline& line, bool closed) {
  double best = 1e9;
  for (const Vec2& p : points) best = std::min(best, geometry::distance_to(line, p, closed));
  return best;
}

Polyline box_of(const WrittenOn& w) {
  const double width = w.height * (glyph_step * static_cast<double>(w.text.size()) - glyph_step + glyph_width);
  const geometry::Rigid2 place{w.angle, w.lower_left};
  return {place * Vec2(0, 0), place * Vec2(width, 0), place * Vec2(width, w.height), place * Vec2(0, w.height)};
}

/// Marks and the rest of what hangs on edges, with the edges' new numbers; those whose edge has none are dropped.
void renumber(PanelDesign& d, const std::function<int(int)>& number) {
  const auto keep = [&](auto& items) {
    for (auto& item : items) item.edge = number(item.edge);
    std::erase_if(items, [](const auto& item) { return item.edge < 0; });
  };
  for (WrittenOn& w : d.written) w.match = -1;
  keep(d.matches);
  keep(d.notches);
  keep(d.needle_lines);
}

bool has_room(const PanelDesign& d, int edge, const Polyline& cut, double mouth_half) {
  const Polyline outline = outline_of(d);
  if (!std::all_of(cut.begin() + 2, cut.end() - 2, [&](const Vec2& p) { return geometry::contains(outline, p); }))
    return false;
  std::vector<DesignEdge> others;
  for (int i = 0; i < static_cast<int>(d.edges.size()); ++i) {
    if (i != edge) others.push_back(d.edges[static_cast<std::size_t>(i)]);
  }
  for (const DesignEdge& e : others) {
    if (distance_between(cut, sampled(e, step_mm), false) < least_web) return false;
  }
  for (const Polyline& hole : d.holes) {
    if (distance_between(cut, hole, true) < least_web) return false;
  }
  // Its own edge: a curved slot must not come back to it.
  const Polyline own = sampled(d.edges[static_cast<std::size_t>(edge)], step_mm);
  const Vec2 mouth = 0.5 * (cut.front() + cut.back());
  return std::all_of(cut.begin(), cut.end(), [&](const Vec2& p) {
    return (p - mouth).norm() < mouth_half + least_web || geometry::distance_to(own, p, false) > least_web / 2;
  });
}

void drop_what_is_near(PanelDesign& d, const Polyline& cut) {
  constexpr double clear = 8, match_reach = 34;  // mm; the longest match mark and clear
  for (auto* line : {&d.centre, &d.grain}) {
    if (!*line) continue;
    const Polyline stretch{(**line)[0], (**line)[1]};
    constexpr double head = 20;
    if (distance_between(cut, stretch, false) < (line == &d.grain ? head : clear)) line->reset();
  }
  std::erase_if(d.written, [&](const WrittenOn& w) {
    const Polyline box = box_of(w);
    return distance_between(cut, box, true) < clear || geometry::contains(box, cut[cut.size() / 2]);
  });
  std::erase_if(d.matches, [&](const MatchAt& m) {
    const Measured edge(d.edges[static_cast<std::size_t>(m.edge)]);
    return geometry::distance_to(cut, edge.at(m.along * edge.length()).at, false) < match_reach;
  });
}

/// The panel with the stretch [start, end] (mm along an edge) replaced by `inserted`, whose ends are set onto the edge.
std::optional<PanelDesign> replaced(const PanelDesign& design, int edge, double start, double end,
                                    std::vector<DesignEdge> inserted) {
  constexpr double least_left = 12;  // mm of the edge on either side
  const Measured whole(design.edges[static_cast<std::size_t>(edge)]);
  if (start < least_left || end > whole.length() - least_left) return std::nullopt;
  const DesignEdge before = whole.before(start), after = whole.after(end);
  inserted.front().from = before.to;
  inserted.back().to = after.from;
  Polyline cut = outline_of(inserted);
  cut.push_back(after.from);
  if (!has_room(design, edge, cut, 0.5 * (end - start))) return std::nullopt;
  PanelDesign out = design;
  drop_what_is_near(out, cut);
  const int added = static_cast<int>(inserted.size()) + 1;
  inserted.insert(inserted.begin(), before);
  inserted.push_back(after);
  const auto at = out.edges.erase(out.edges.begin() + edge);
  out.edges.insert(at, inserted.begin(), inserted.end());
  renumber(out, [&](int i) { return i == edge ? -1 : i > edge ? i + added : i; });
  out.symmetric = false;
  return out;
}

/// Items that hang on whole edges, with the numbers of one part's edges.
PanelDesign part_of(const PanelDesign& whole, std::vector<DesignEdge> edges, const std::function<int(int)>& number,
                    const std::string& suffix) {
  PanelDesign out = whole;
  out.name += suffix;
  out.symmetric = false;
  out.edges = std::move(edges);
  renumber(out, number);
  out.centre.reset();
  const Polyline outline = outline_of(out);
  const auto inside = [&](const Polyline& line) {
    return std::all_of(line.begin(), line.end(), [&](const Vec2& p) { return geometry::contains(outline, p); }) &&
           distance_between(line, outline, true) > least_web / 2;
  };
  std::erase_if(out.holes, [&](const Polyline& hole) { return !inside(hole); });
  std::erase_if(out.written, [&](const WrittenOn& w) { return !inside(box_of(w)); });
  if (out.grain && !inside({(*out.grain)[0], (*out.grain)[1]})) out.grain.reset();
  return out;
}

}  // namespace

std::optional<PanelDesign> with_slot(const PanelDesign& design, const SlotCut& cut) {
  require_index("edge", static_cast<std::size_t>(cut.edge), design.edges.size());
  const Measured edge(design.edges[static_cast<std::size_t>(cut.edge)]);
  const double middle = cut.along * edge.length(), half = cut.width / 2;
  const EdgePoint mouth = edge.at(middle);
  const double lean = cut.curvature == 0 ? cut.lean : 0;
  const Vec2 in = turned(mouth.inward, lean);
  const double reach = cut.depth - (cut.round_end ? half : 0);  // of the middle line between the sides
  const DesignEdge centre = arc(mouth.at, in, cut.curvature, reach);
  const auto side = [&](double off) {  // positive: to the left of the way in
    const double stretch = 1 - cut.curvature * off;
    return arc(mouth.at + off * left_of(in), in, cut.curvature / stretch, reach * stretch);
  };
  const DesignEdge left = side(half), right = side(-half);
  const Vec2 end_way = turned(in, cut.curvature * reach);
  std::vector<DesignEdge> inserted{left};
  if (cut.round_end) {
    const double quarter = std::numbers::pi / 2 * half;
    inserted.push_back(arc(left.to, end_way, -1 / half, quarter));
    inserted.push_back(arc(inserted.back().to, -left_of(end_way), -1 / half, quarter));
  } else {
    inserted.push_back(straight(left.to, right.to));
  }
  inserted.push_back(reversed(right));
  const double mouth_half = half / std::cos(lean);
  // A leaning side begins before or behind the mouth's middle line: the straight part to the edge carries on in its direction.
  std::optional<PanelDesign> out = replaced(design, cut.edge, middle - mouth_half, middle + mouth_half, inserted);
  if (out) out->slots.push_back({mouth.at, centre.to + (cut.depth - reach) * end_way, in, cut.width, cut.depth});
  return out;
}

std::optional<PanelDesign> with_wedge(const PanelDesign& design, const WedgeCut& cut) {
  require_index("edge", static_cast<std::size_t>(cut.edge), design.edges.size());
  const Measured edge(design.edges[static_cast<std::size_t>(cut.edge)]);
  const double middle = cut.along * edge.length(), half = cut.depth * std::tan(cut.angle / 2);
  const EdgePoint mouth = edge.at(middle);
  const Vec2 tip = mouth.at + cut.depth * mouth.inward;
  std::optional<PanelDesign> out =
      replaced(design, cut.edge, middle - half, middle + half, {straight(mouth.at, tip), straight(tip, mouth.at)});
  if (!out) return out;
  // As it came out between the places where the sides meet the edge.
  const Vec2 a = edge.at(middle - half).at - tip, b = edge.at(middle + half).at - tip;
  out->inner_corners.push_back({tip, std::acos(a.dot(b) / (a.norm() * b.norm()))});
  for (std::size_t k = 1; k < 3; ++k) {
    DesignEdge& side = out->edges[static_cast<std::size_t>(cut.edge) + k];
    side = straight(side.from, side.to);
  }
  return out;
}

std::array<PanelDesign, 2> parted(const PanelDesign& design, const PartingCut& cut) {
  require_index("edge", static_cast<std::size_t>(cut.to_edge), design.edges.size());
  require_within("first edge", cut.from_edge, 0, cut.to_edge - 1);
  const int count = static_cast<int>(design.edges.size());
  const auto edge = [&](int i) { return design.edges[static_cast<std::size_t>(i)]; };
  const Measured from(edge(cut.from_edge)), to(edge(cut.to_edge));
  const double from_mm = cut.from_along * from.length(), to_mm = cut.to_along * to.length();
  const Vec2 a = from.before(from_mm).to, b = to.before(to_mm).to, chord = b - a, off = left_of(chord).normalized();
  const DesignEdge seam{a, a + chord / 3 + cut.bulge[0] * off, b - chord / 3 + cut.bulge[1] * off, b};
  std::vector<DesignEdge> first{from.after(from_mm)}, second{to.after(to_mm)};
  for (int i = cut.from_edge + 1; i < cut.to_edge; ++i) first.push_back(edge(i));
  first.push_back(to.before(to_mm));
  first.push_back(reversed(seam));
  for (int i = cut.to_edge + 1; i < cut.from_edge + count; ++i) second.push_back(edge(i % count));
  second.push_back(from.before(from_mm));
  second.push_back(seam);
  return {part_of(
              design, std::move(first),
              [&](int i) { return i > cut.from_edge && i < cut.to_edge ? i - cut.from_edge : -1; }, " a"),
          part_of(
              design, std::move(second),
              [&](int i) {
                if (i >= cut.from_edge && i <= cut.to_edge) return -1;
                return (i - cut.to_edge + count) % count;
              },
              " b")};
}

}  // namespace chalkfold::demo
