// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/chalk/rings.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <tuple>

#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/regions.h"

namespace chalkfold::trace {
namespace {

// fitted: no source but the rings, whole and broken, that the tests of rings_of and find_chalk_lines draw.
constexpr double least_width = 10;  // mm, of what a ring leaves bare inside: less is a knot, or two lines side by side
constexpr double least_drawn = 0.75;  // share of a ring that is drawn; the rest may be breaks; fitted
constexpr double open_drawn = 0.6;    // the same of an open ring: with less of it, it is a line or a letter; fitted
// mm, 1 standard deviation of a ring's outer edge, against truth on rendered photographs
constexpr double edge_sigma = 0.25;
constexpr double step = 1;           // mm along a ring, at which it is asked whether it is drawn
constexpr double least_steps = 8;    // of a ring, however small
constexpr double slack = 1;          // mm from a line's side at which a ring still counts as drawn; fitted
constexpr double loose_end = 0.4;    // mm more than half a line's width: a disc that fits in no single line; fitted
constexpr double most_apart = 0.65;  // of the lines' length: a half ring and more, 2 / pi, is told as an open one
constexpr double same_line = 1.2;    // mm between middles: one line as two photos show it; fitted

struct Nearest {
  Vec2 at = Vec2::Zero();
  double distance = 1e300;
};

/// Nearest of a line's points to one of its own or another line's ends. Of its own, only those `clear` mm or more along it from that end.
Nearest nearest_point(const Polyline& line, const Vec2& end, int own_end, double clear) {
  Nearest best;
  std::vector<double> along(line.size(), 0);
  for (std::size_t i = 1; i < line.size(); ++i) along[i] = along[i - 1] + (line[i] - line[i - 1]).norm();
  for (std::size_t i = 0; i < line.size(); ++i) {
    if (own_end == 0 && along[i] < clear) continue;
    if (own_end == 1 && along.back() - along[i] < clear) continue;
    const double d = (line[i] - end).norm();
    if (d < best.distance) best = {line[i], d};
  }
  return best;
}

const Vec2& end_of(const ChalkLine& line, int end) { return end == 0 ? line.points.front() : line.points.back(); }

/// Straight bridges from every end of a line to whatever line lies within `reach`.
std::vector<geometry::BroadLine> short_bridges(const std::vector<ChalkLine>& lines, double reach) {
  std::vector<geometry::BroadLine> out;
  for (std::size_t i = 0; i < lines.size(); ++i) {
    for (const int end : {0, 1}) {
      const Vec2& from = end_of(lines[i], end);
      for (std::size_t j = 0; j < lines.size(); ++j) {
        const Nearest to = nearest_point(lines[j].points, from, i == j ? end : -1, 2 * reach);
        if (to.distance <= reach) out.push_back({{from, to.at}, lines[i].width});
      }
    }
  }
  return out;
}

/// Bridges over breaks that leave a ring open: from every end to the line's other one and to the nearest of another line, if it is not farther
/// than a share of the line's own length.
std::vector<geometry::BroadLine> long_bridges(const std::vector<ChalkLine>& lines) {
  std::vector<geometry::BroadLine> out;
  for (std::size_t i = 0; i < lines.size(); ++i) {
    const double reach = most_apart * geometry::length(lines[i].points, false);
    const auto bridge = [&](const Vec2& from, const Vec2& to) {
      if ((to - from).norm() <= reach) out.push_back({{from, to}, lines[i].width});
    };
    bridge(end_of(lines[i], 0), end_of(lines[i], 1));
    for (const int end : {0, 1}) {
      const Vec2& from = end_of(lines[i], end);
      Nearest nearest;
      for (std::size_t j = 0; j < lines.size(); ++j)
        for (const int other : {0, 1})
          if (const Vec2& to = end_of(lines[j], other); i != j && (to - from).norm() < nearest.distance)
            nearest = {to, (to - from).norm()};
      if (nearest.distance < 1e300) bridge(from, nearest.at);
    }
  }
  return out;
}

/// How much of a closed boundary is drawn.
struct Drawn {
  double share = 0;
  /// mm, longest stretch that is not
  double gap = 0;
  Vec2 gap_at = Vec2::Zero();
  double confidence = 0;
  /// mm
  double width = 0;
  panel::Srgb colour{};
};

Drawn drawn_part_of(const Polyline& ring, const std::vector<ChalkLine>& lines) {
  const auto count = static_cast<std::size_t>(std::max(least_steps, geometry::length(ring, true) / step));
  const Polyline points = geometry::resample_closed(ring, count);
  const double spacing = geometry::length(ring, true) / static_cast<double>(count);
  std::vector<const ChalkLine*> by(count, nullptr);
  for (std::size_t i = 0; i < count; ++i) {
    double least = 1e300;
    for (const ChalkLine& line : lines) {
      const double off = geometry::distance_to(line.points, points[i], false) - line.width / 2;
      if (off < std::min(least, slack)) {
        least = off;
        by[i] = &line;
      }
    }
  }
  Drawn drawn;
  std::array<double, 3> colour{};
  double seen = 0;
  for (const ChalkLine* line : by) {
    if (!line) continue;
    ++seen;
    drawn.confidence += line->confidence;
    drawn.width += line->width;
    for (std::size_t c = 0; c < 3; ++c) colour[c] += line->colour[c];
  }
  drawn.share = seen / static_cast<double>(count);
  if (seen == 0) return drawn;
  drawn.confidence /= seen;
  drawn.width /= seen;
  for (std::size_t c = 0; c < 3; ++c) drawn.colour[c] = static_cast<std::uint8_t>(std::lround(colour[c] / seen));
  std::size_t run = 0;
  for (std::size_t k = 0; k < 2 * count; ++k) {  // twice round: a break may pass the start
    run = by[k % count] ? 0 : run + 1;
    if (static_cast<double>(run) * spacing <= drawn.gap || run > count) continue;
    drawn.gap = static_cast<double>(run) * spacing;
    drawn.gap_at = points[(k - run / 2) % count];
  }
  return drawn;
}

struct Candidate {
  Polyline ring;
  Drawn drawn;
};

/// Whatever lines and bridges enclose.
std::vector<Candidate> enclosed(const std::vector<ChalkLine>& lines, std::vector<geometry::BroadLine> drawn) {
  double widest = 0;
  for (const ChalkLine& line : lines) {
    drawn.push_back({line.points, line.width});
    widest = std::max(widest, line.width);
  }
  std::vector<Candidate> out;
  for (const geometry::RingedArea& area : geometry::covered_by(drawn)) {
    Polyline bare;  // a place inside each opening that is wide enough
    for (const Polyline& inside : area.inside)
      for (const Polyline& wide : geometry::opened(inside, least_width / 2)) bare.push_back(geometry::centroid(wide));
    if (bare.empty()) continue;
    for (Polyline& body : geometry::opened(area.outer, widest / 2 + loose_end)) {
      const bool ring =
          std::any_of(bare.begin(), bare.end(), [&](const Vec2& p) { return geometry::contains(body, p); });
      if (!ring) continue;
      Drawn part = drawn_part_of(body, lines);
      out.push_back({std::move(body), part});
    }
  }
  return out;
}

/// Without points that lie closer together than anyone can cut: rounded in a file, they would cross each other.
Polyline thinned(const Polyline& closed) {
  constexpr double apart = 0.4;  // mm: a chord leaves an arc of the disc that opened the ring by 0.01 mm
  Polyline out;
  for (const Vec2& p : closed)
    if (out.empty() || ((p - out.back()).norm() >= apart && (p - out.front()).norm() >= apart)) out.push_back(p);
  return out;
}

panel::Flaw flaw_of(const Candidate& candidate) {
  panel::Flaw flaw;
  flaw.ring = thinned(candidate.ring);
  flaw.width = candidate.drawn.width;
  flaw.gap = candidate.drawn.gap;
  flaw.U = 2 * edge_sigma;
  flaw.confidence = std::min(1.0, candidate.drawn.confidence);
  flaw.colour = candidate.drawn.colour;
  return flaw;
}

bool lies_within(const Polyline& inner, const Polyline& outer) {
  return std::all_of(inner.begin(), inner.end(), [&](const Vec2& p) { return geometry::contains(outer, p); });
}

/// Rings within rings count once.
void drop_inner(std::vector<panel::Flaw>& flaws) {
  std::vector<bool> inner(flaws.size(), false);
  for (std::size_t i = 0; i < flaws.size(); ++i)
    for (std::size_t j = 0; j < flaws.size(); ++j)
      if (i != j && lies_within(flaws[i].ring, flaws[j].ring)) inner[i] = true;
  std::size_t next = 0;
  std::erase_if(flaws, [&](const panel::Flaw&) { return inner[next++]; });
}

/// The lines that no flaw has.
std::vector<ChalkLine> left_over(const std::vector<ChalkLine>& lines, const std::vector<panel::Flaw>& flaws) {
  std::vector<ChalkLine> out;
  for (const ChalkLine& line : lines) {
    std::size_t in = 0;
    for (const Vec2& p : line.points)
      in += std::any_of(flaws.begin(), flaws.end(), [&](const panel::Flaw& f) {
        return geometry::contains(f.ring, p) || geometry::distance_to(f.ring, p, true) < line.width;
      });
    if (2 * in < line.points.size()) out.push_back(line);
  }
  return out;
}

}  // namespace

Rings rings_of(const std::vector<ChalkLine>& lines) {
  Rings rings;
  for (const Candidate& c : enclosed(lines, short_bridges(lines, ring_gap)))
    if (c.drawn.share >= least_drawn && c.drawn.gap <= ring_gap) rings.flaws.push_back(flaw_of(c));
  drop_inner(rings.flaws);
  std::stable_sort(rings.flaws.begin(), rings.flaws.end(), [](const panel::Flaw& a, const panel::Flaw& b) {
    const Vec2 p = geometry::centroid(a.ring), q = geometry::centroid(b.ring);
    return std::tie(p.x(), p.y()) < std::tie(q.x(), q.y());
  });
  const std::vector<ChalkLine> rest = left_over(lines, rings.flaws);
  std::vector<geometry::BroadLine> bridged = short_bridges(rest, ring_gap);
  for (geometry::BroadLine& bridge : long_bridges(rest)) bridged.push_back(std::move(bridge));
  for (const Candidate& c : enclosed(rest, std::move(bridged))) {
    if (c.drawn.share < open_drawn) continue;
    rings.open.push_back({c.drawn.gap_at, c.drawn.gap, geometry::bounding_box(c.ring).size().maxCoeff()});
  }
  return rings;
}

void add_lines(std::vector<ChalkLine>& known, const std::vector<ChalkLine>& more) {
  constexpr double least = 3;  // mm: shorter stretches are left to the bridges; fitted
  const std::size_t before = known.size();
  for (const ChalkLine& line : more) {
    ChalkLine part = line;
    part.points.clear();
    const auto keep = [&] {
      if (part.points.size() >= 2 && geometry::length(part.points, false) >= least) known.push_back(part);
      part.points.clear();
    };
    for (const Vec2& p : line.points) {
      bool there = false;
      for (std::size_t i = 0; i < before && !there; ++i)
        there = geometry::distance_to(known[i].points, p, false) < same_line;
      if (there)
        keep();
      else
        part.points.push_back(p);
    }
    keep();
  }
}

void set_flaws(panel::Panel& panel, const std::vector<ChalkLine>& lines, const std::string& photo) {
  Rings rings = rings_of(lines);
  panel.flaws = std::move(rings.flaws);
  for (panel::Flaw& flaw : panel.flaws) flaw.U = std::hypot(flaw.U, panel.U_median);
  const Vec2 origin = geometry::bounding_box(panel.outline.points).min;
  for (const OpenRing& open : rings.open) {
    const Vec2 at = open.at - origin;
    panel.faults.push_back(
        {"ring-open",
         Severity::warning,
         fmt::format("a ring of about {:.0f} mm is open over {:.0f} mm near ({:.0f}, {:.0f}) mm from the lower left; "
                     "it may be open by {:.0f} mm at the most, and is not among the flaws",
                     open.across, open.gap, at.x(), at.y(), ring_gap),
         "Close the ring with chalk and photograph it again; nothing to do if it is no ring.",
         photo,
         {}});
  }
}

}  // namespace chalkfold::trace
