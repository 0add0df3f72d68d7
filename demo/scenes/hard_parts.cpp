// SPDX-License-Identifier: Apache-2.0
#include "demo/scenes/hard_parts.h"

#include <algorithm>
#include <cmath>

#include "calib/sheet_layout.h"
#include "demo/design/panel_cuts.h"

namespace chalkfold::demo {

namespace {

Vec2 unit(double angle) { return {std::cos(angle), std::sin(angle)}; }

/// The shadow of a rod or of a head that looks over the table's edge, over `at`, coming from `direction`.
std::vector<StrokeField::Stroke> shadow_bodies(Random& random, bool rod, const Vec2& at, double direction) {
  constexpr double far = 1500;  // mm, beyond the picture
  const Vec2 way = unit(direction), across = unit(direction + full_turn / 4);
  if (rod) {
    const double end = random.chance(0.5) ? far : random.uniform(60, 200);
    return {{at - far * way, at + end * way, random.uniform(6, 30), 0}};
  }
  const double head = random.uniform(65, 95), long_by = random.uniform(30, 60), neck = random.uniform(45, 60);
  const Vec2 middle = at - head * way, chin = middle - (long_by + head) * way, shoulders = chin - 130 * way;
  return {{middle, middle - long_by * way, head, 0},
          {chin, shoulders, neck, 0},
          {shoulders - 150 * across, shoulders + 150 * across, 80, 0},
          {shoulders, shoulders - far * way, 210, 0}};
}

/// The gap at which the panel stops on its way towards those that lie there already.
bool slide_near(std::vector<LaidPanel>& panels, const PanelDesign& design, LayOptions lay, double direction,
                double gap) {
  const Polyline shape = lay_panel(design, lay).outline;
  const auto gap_at = [&](double away) {
    Polyline there = shape;
    for (Vec2& p : there) p += away * unit(direction);
    double least = 1e9;
    for (const LaidPanel& p : panels) least = std::min(least, close_gap(p.outline, there));
    return least;
  };
  constexpr double step = 12, start = 1200;  // mm
  double near = start;
  while (near > 0 && gap_at(near) > gap) near -= step;
  if (near <= 0) return false;
  double far = near + step;
  constexpr int halvings = 13;  // of 12 mm: to 0.002 mm
  for (int k = 0; k < halvings; ++k) {
    const double middle = 0.5 * (near + far);
    (gap_at(middle) > gap ? far : near) = middle;
  }
  lay.table_from_panel.shift += far * unit(direction);
  panels.push_back(lay_panel(design, lay));
  return true;
}

/// A cut from edge to edge that leaves two parts worth having.
std::optional<std::array<PanelDesign, 2>> parted_by_chance(Random& random, const PanelDesign& design) {
  const int last = static_cast<int>(design.edges.size()) - 1;
  const auto area = [](const PanelDesign& d) {
    Polyline line;
    for (const DesignEdge& e : d.edges) {
      const Polyline part = sampled(e, 2);
      line.insert(line.end(), part.begin(), part.end());
    }
    return geometry::signed_area(line);
  };
  const double whole = area(design);
  for (int trial = 0; trial < 40; ++trial) {
    PartingCut cut;
    cut.from_edge = random.integer(0, last - 1);
    cut.to_edge = random.integer(cut.from_edge + 1, last);
    cut.from_along = random.uniform(0.25, 0.75);
    cut.to_along = random.uniform(0.25, 0.75);
    cut.bulge = {random.uniform(-25, 25), random.uniform(-25, 25)};
    const std::array<PanelDesign, 2> parts = parted(design, cut);
    const double a = area(parts[0]), b = area(parts[1]);
    constexpr double least_share = 0.3;
    if (std::min(a, b) > least_share * whole && std::abs(a + b - whole) < 1) return parts;
  }
  return std::nullopt;
}

/// Two parts of one panel, moved apart across the cut.
bool add_parted(Random& random, const std::array<PanelLook, 2>& looks, double gap, Scene& scene) {
  const auto parts = parted_by_chance(random, random_design(random));
  if (!parts) return false;
  const double angle = random.uniform(0, full_turn);
  const DesignEdge& seam = (*parts)[0].edges.back();  // with the first part on its left
  const Vec2 chord = (seam.to - seam.from).normalized();
  for (std::size_t k = 0; k < 2; ++k) {
    LayOptions lay = lay_options(random, (*parts)[k], looks[k]);
    lay.wear = {};  // the cut's two sides are one line
    const Vec2 off = k == 0 ? Vec2::Zero() : Vec2(gap * Vec2(chord.y(), -chord.x()));
    lay.table_from_panel = geometry::Rigid2{angle, Vec2::Zero()} * geometry::Rigid2{0, off};
    scene.panels.push_back(lay_panel((*parts)[k], lay));
  }
  return true;
}

}  // namespace

PanelDesign random_design(Random& random) {
  return panel_design(launch_set[static_cast<std::size_t>(random.integer(0, static_cast<int>(launch_set.size()) - 1))]);
}

void cast_hard_shadow(Random& random, double left, Scene& scene) {
  const LaidPanel& panel =
      scene.panels[static_cast<std::size_t>(random.integer(0, static_cast<int>(scene.panels.size()) - 1))];
  const Vec2 size = geometry::bounding_box(panel.outline).size();
  constexpr double off_middle = 0.22;
  const Vec2 at = geometry::centroid(panel.outline) +
                  off_middle * size.minCoeff() * Vec2{random.uniform(-1, 1), random.uniform(-1, 1)};
  const double direction = random.uniform(0, full_turn);
  scene.light.direct_share = random.uniform(0.74, 0.85);
  ShadowAcross shadow{.point = at,
                      .dark_side = unit(direction),
                      .depth = (1 - left) / scene.light.direct_share,
                      .softness = random.uniform(0.3, 2.5)};
  const int shape = random.integer(0, 3);  // two of four: the edge of something large
  if (shape < 2) shadow.bodies = shadow_bodies(random, shape == 0, at, direction);
  scene.shadow_across = std::move(shadow);
}

SheetCover cover_of(const SheetOnTable& sheet, const std::vector<LaidPanel>& panels) {
  constexpr double cell = 5;  // mm
  const geometry::Rigid2 place{sheet.theta, sheet.at};
  std::vector<geometry::Box> boxes;
  for (const LaidPanel& p : panels) boxes.push_back(geometry::bounding_box(p.outline));
  const auto lies_under = [&](const Vec2& p) {
    for (std::size_t k = 0; k < panels.size(); ++k) {
      const bool by = (p.array() > boxes[k].min.array()).all() && (p.array() < boxes[k].max.array()).all();
      if (by && geometry::contains(panels[k].outline, p)) return true;
    }
    return false;
  };
  int paper = 0, board = 0, paper_under = 0, board_under = 0;
  for (double y = (cell - paper_height) / 2; y < paper_height / 2; y += cell) {
    for (double x = (cell - paper_width) / 2; x < paper_width / 2; x += cell) {
      const bool under = lies_under(place * Vec2(x, y));
      const bool on_board = std::abs(x) < sheet::board_width / 2 && std::abs(y) < sheet::board_height / 2;
      ++paper, paper_under += under;
      board += on_board, board_under += on_board && under;
    }
  }
  return {static_cast<double>(paper_under) / paper, static_cast<double>(board_under) / board};
}

bool add_covered_sheets(Random& random, int count, Scene& scene) {
  const double first = random.uniform(0, full_turn);
  for (int n = 0; n < count; ++n) {
    const double direction = first + full_turn * (n + random.uniform(-0.1, 0.1)) / count;
    const double theta = random.integer(0, 3) * full_turn / 4 + random.uniform(-0.25, 0.25);
    const double wanted = random.uniform(0.04, 0.18);
    std::vector<Thing> panels, others;
    for (Thing& t : things(scene)) (t.kind == Thing::Kind::panel ? panels : others).push_back(std::move(t));
    const auto touching = slid_out(panels, geometry::centroid(scene.panels[0].outline), direction, theta,
                                   {paper_width, paper_height}, 1, 900);
    if (!touching) return false;
    bool done = false;
    for (double in = 12; in < 150 && !done; in += 6) {
      const SheetOnTable sheet{0, *touching - in * unit(direction), theta};
      const SheetCover cover = cover_of(sheet, scene.panels);
      constexpr double most = 0.25, least_board = 0.01;
      if (cover.paper < wanted || cover.board < least_board) continue;
      if (cover.paper > most) return false;
      if (least_gap(others, rectangle_on_table(sheet.at, theta, paper_width, paper_height)) < 10) return false;
      scene.sheets.push_back(sheet);
      done = true;
    }
    if (!done) return false;
  }
  return true;
}

void number_sheets(Random& random, Scene& scene) {
  const int count = static_cast<int>(scene.sheets.size());
  int number = random.integer(1, sheet::sheets_max - count + 1);
  for (SheetOnTable& s : scene.sheets) s.number = number++;
}

void add_papers(Random& random, Scene& scene) {
  const int count = random.integer(1, 2);
  for (int n = 0; n < count; ++n) {
    const Vec2 size = random.chance(0.5) ? Vec2(210, 297) : Vec2{random.uniform(70, 150), random.uniform(90, 200)};
    const double theta = random.uniform(0, full_turn), gap = random.uniform(3, 40),
                 first = random.uniform(0, full_turn);
    for (int k = 0; k < 8; ++k) {
      const auto at = slid_out(things(scene), geometry::centroid(scene.panels[0].outline), first + full_turn * k / 8,
                               theta, size, gap, 320);
      if (!at) continue;
      scene.papers.push_back({*at, theta, size});
      break;
    }
  }
}

double close_gap(const Polyline& a, const Polyline& b) {
  constexpr double told = 20;
  double least = told;
  const auto towards = [&](const Polyline& from, const Polyline& to) {
    const geometry::Box box = geometry::bounding_box(to);
    for (const Vec2& p : from) {
      if (((p - box.max).array() > least).any() || ((box.min - p).array() > least).any()) continue;
      if (geometry::contains(to, p)) least = 0;
      if (least <= 0) return;
      least = std::min(least, geometry::distance_to(to, p, true));
    }
  };
  towards(a, b);
  if (least > 0) towards(b, a);
  return least;
}

bool add_close_panels(Random& random, Scene& scene) {
  const int count = random.integer(2, 3);
  PanelLook look;
  look.material = random_material(random);
  look.thickness = random.uniform(0.8, 2.5);
  std::array<PanelLook, 3> looks = {look, look, look};
  const bool same = random.chance(0.5);
  for (std::size_t k = 1; k < looks.size(); ++k) {
    looks[k].material = same ? look.material : random_material(random);
    looks[k].material.seed = static_cast<std::uint32_t>(random.next());
  }
  // Of one material even touching edges leave a line: a blade takes that much.
  constexpr double blade = 0.25;
  const auto next_gap = [&] {
    const double gap = random.chance(0.25) ? 0 : random.uniform(0, 10);
    return same ? std::max(gap, blade) : gap;
  };
  if (random.chance(0.5)) {
    if (!add_parted(random, {looks[0], looks[1]}, next_gap(), scene)) return false;
  } else if (!add_panel(random, random_design(random), looks[0], scene)) {
    return false;
  }
  while (static_cast<int>(scene.panels.size()) < count) {
    const PanelDesign design = random_design(random);
    LayOptions lay = lay_options(random, design, looks[scene.panels.size()]);
    lay.table_from_panel = {random.uniform(0, full_turn), Vec2::Zero()};
    const double direction = random.uniform(0, full_turn);
    if (!slide_near(scene.panels, design, lay, direction, next_gap())) return false;
  }
  std::vector<std::string> names;
  for (const LaidPanel& p : scene.panels) names.push_back(p.name);
  std::sort(names.begin(), names.end());
  return std::adjacent_find(names.begin(), names.end()) == names.end();
}

std::optional<PanelDesign> slotted_design(Random& random, const PanelDesign& design) {
  const int count = random.integer(1, 3);
  constexpr int trials = 60;
  PanelDesign out = design;
  for (int trial = 0; trial < trials && out.inner_corners.empty(); ++trial) {
    const WedgeCut cut{.edge = random.integer(0, static_cast<int>(out.edges.size()) - 1),
                       .along = random.uniform(0.2, 0.8),
                       .angle = random.uniform(0.56, 1.52),
                       .depth = random.uniform(25, 55)};
    constexpr double least = full_turn / 12, most = full_turn / 4;
    const auto made = with_wedge(out, cut);
    if (made && made->inner_corners[0].angle >= least && made->inner_corners[0].angle <= most) out = *made;
  }
  if (out.inner_corners.empty()) return std::nullopt;
  for (int trial = 0; trial < trials && static_cast<int>(out.slots.size()) < count; ++trial) {
    SlotCut cut{.edge = random.integer(0, static_cast<int>(out.edges.size()) - 1),
                .along = random.uniform(0.1, 0.9),
                .width = random.uniform(4, 15),
                .depth = random.uniform(20, 120)};
    cut.lean = random.uniform(-0.3, 0.3);
    if (random.chance(0.5)) cut.curvature = (random.chance(0.5) ? 1 : -1) * random.uniform(0.3, 0.9) / cut.depth;
    cut.round_end = random.chance(0.5);
    if (auto made = with_slot(out, cut)) out = std::move(*made);
  }
  if (out.slots.empty()) return std::nullopt;
  return out;
}

}  // namespace chalkfold::demo
