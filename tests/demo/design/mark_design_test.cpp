// SPDX-License-Identifier: Apache-2.0
#include "demo/design/mark_design.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <set>

namespace chalkfold::demo {
namespace {

constexpr std::uint64_t designs = 120;

Polyline outline_of(const PanelDesign& d) {
  Polyline out;
  for (const DesignEdge& e : d.edges) {
    const Polyline part = sampled(e, 1);
    out.insert(out.end(), part.begin(), part.end());
  }
  return out;
}

TEST(MarkDesign, HoldsEveryKindOfMarkInTheAskedSizes) {
  std::set<int> strokes;
  std::set<NotchKind> notches;
  std::set<GrainHead> heads;
  int undersides = 0, figures = 0, doubled = 0, worn = 0, creases = 0, sewn = 0, threads = 0;
  for (std::uint64_t seed = 1; seed <= designs; ++seed) {
    const MarkedPanel p = mark_design(seed);
    for (const MatchAt& m : p.design.matches) strokes.insert(m.strokes);
    for (const NotchAt& n : p.design.notches) {
      notches.insert(n.kind);
      EXPECT_TRUE(n.depth >= 3 && n.depth <= 8) << n.depth;
    }
    if (p.design.grain) heads.insert(p.design.grain_head);
    for (const WrittenOn& w : p.design.written) {
      if (w.kind == "underside") {
        EXPECT_TRUE(w.height >= 25 && w.height <= 80) << w.height;
      }
      undersides += w.kind == "underside" ? 1 : 0;
      figures += w.match >= 0 ? 1 : 0;
    }
    for (const AwlHole& h : p.design.awl_holes) EXPECT_TRUE(h.diameter >= 1.5 && h.diameter <= 6) << h.diameter;
    const auto& lines = p.design.needle_lines;
    for (std::size_t k = 0; k < lines.size(); ++k) {
      EXPECT_TRUE(lines[k].pitch >= 2.5 && lines[k].pitch <= 7) << lines[k].pitch;
      worn += lines[k].worn_share > 0 ? 1 : 0;
      doubled += k > 0 && lines[k].edge == lines[k - 1].edge ? 1 : 0;
    }
    creases += static_cast<int>(p.clutter.creases.size());
    sewn += static_cast<int>(p.clutter.sewn_lines.size());
    threads += static_cast<int>(p.clutter.threads.size());
  }
  EXPECT_EQ(strokes, (std::set<int>{1, 2, 3}));
  EXPECT_EQ(notches.size(), 3U);
  EXPECT_EQ(heads.size(), 3U);
  for (const int count : {undersides, figures, doubled, worn, creases, sewn, threads}) EXPECT_GT(count, 10);
}

TEST(MarkDesign, KeepsMarksInsideAndClearOfEachOther) {
  constexpr double clear_mm = 13.9;
  for (std::uint64_t seed = 1; seed <= designs; ++seed) {
    const PanelDesign d = mark_design(seed).design;
    const Polyline outline = outline_of(d);
    for (std::size_t i = 0; i < d.awl_holes.size(); ++i) {
      const Vec2 at = d.awl_holes[i].at;
      EXPECT_TRUE(geometry::contains(outline, at)) << seed;
      for (std::size_t k = 0; k < i; ++k) EXPECT_GT((at - d.awl_holes[k].at).norm(), clear_mm) << seed;
      if (d.grain) {
        EXPECT_GT(geometry::distance_to({(*d.grain)[0], (*d.grain)[1]}, at, false), clear_mm - 1) << seed;
      }
      if (d.centre) {
        EXPECT_GT(geometry::distance_to({(*d.centre)[0], (*d.centre)[1]}, at, false), clear_mm - 1) << seed;
      }
      for (const Polyline& hole : d.holes) EXPECT_FALSE(geometry::contains(hole, at)) << seed;
    }
    if (d.grain) {
      EXPECT_TRUE(geometry::contains(outline, (*d.grain)[0]) && geometry::contains(outline, (*d.grain)[1])) << seed;
    }
  }
}

TEST(MarkDesign, DependsOnTheSeedAndLeavesOutWhatIsNotWanted) {
  EXPECT_EQ(mark_design(4).design.matches.size(), mark_design(4).design.matches.size());
  EXPECT_NE(mark_design(4).design.matches.at(0).along, mark_design(5).design.matches.at(0).along);
  const MarkedPanel bare = mark_design(4, {.marks = false, .clutter = false});
  EXPECT_TRUE(bare.design.matches.empty() && bare.design.notches.empty() && bare.design.needle_lines.empty());
  EXPECT_TRUE(bare.design.written.empty() && bare.design.awl_holes.empty());
  EXPECT_FALSE(bare.design.centre || bare.design.grain);
  EXPECT_TRUE(bare.clutter.creases.empty() && bare.clutter.sewn_lines.empty() && bare.clutter.threads.empty());
}

}  // namespace
}  // namespace chalkfold::demo
