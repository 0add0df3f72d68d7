// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/piece/labels.h"

#include <gtest/gtest.h>

#include "pipeline/draft/piece/draft_piece.h"
#include "pipeline/draft/piece/lettering.h"
#include "pipeline/geometry/polygon.h"
#include "tests/draft/flag_draft.h"

namespace chalkfold::draft {
namespace {

bool cross(const Vec2& a, const Vec2& b, const Vec2& c, const Vec2& d) {
  const auto side = [](const Vec2& p, const Vec2& q, const Vec2& r) {
    return (q - p).x() * (r - p).y() - (q - p).y() * (r - p).x();
  };
  return side(a, b, c) * side(a, b, d) < 0 && side(c, d, a) * side(c, d, b) < 0;
}

/// All lettering inside the sew line, crossing no line of the piece and no other label.
void expect_clear(const Piece& piece) {
  std::vector<std::vector<Polyline>> strokes;
  for (const PieceLabel& label : piece.labels) strokes.push_back(strokes_of(label));
  std::vector<std::array<Vec2, 2>> lines;
  for (std::size_t i = 0; i < piece.sew_line.size(); ++i)
    lines.push_back({piece.sew_line[i], piece.sew_line[(i + 1) % piece.sew_line.size()]});
  if (piece.axis) lines.push_back(*piece.axis);
  if (piece.grain) lines.push_back(*piece.grain);
  for (std::size_t k = 0; k < strokes.size(); ++k) {
    geometry::Box box;
    for (const Polyline& stroke : strokes[k])
      for (std::size_t i = 0; i < stroke.size(); ++i) {
        EXPECT_TRUE(geometry::contains(piece.sew_line, stroke[i])) << piece.labels[k].words;
        box.add(stroke[i]);
        if (i == 0) continue;
        for (const auto& line : lines)
          EXPECT_FALSE(cross(stroke[i - 1], stroke[i], line[0], line[1])) << piece.labels[k].words;
      }
    for (std::size_t m = 0; m < k; ++m)
      for (const Polyline& stroke : strokes[m])
        for (const Vec2& p : stroke)
          EXPECT_FALSE(p.x() > box.min.x() && p.x() < box.max.x() && p.y() > box.min.y() && p.y() < box.max.y())
              << piece.labels[k].words << " over " << piece.labels[m].words;
  }
}

bool has_words(const Piece& piece, const std::string& words) {
  return std::any_of(piece.labels.begin(), piece.labels.end(), [&](const PieceLabel& l) { return l.words == words; });
}

TEST(Labels, ALargePieceHasThemAllAndTheyCrossNothing) {
  panel::Panel panel = drawn::flag_panel();
  panel.marks.grain = panel::GrainLine{{150, 60}, {150, 120}, true, 0.2, 0.01, 0.9, {}};
  DraftOptions options;
  options.part = "cushion";
  options.job = "helm seats";
  options.quantity = 2;
  options.one_mirrored = true;
  const Piece piece = draft_piece(panel, options);
  for (const char* words : {"flag", "cut 2, one mirrored", "inside up", "piece 1", "allowance 10 mm", "cushion",
                            "helm seats", "measured on flag.jpg", "1", "5", "50 mm"})
    EXPECT_TRUE(has_words(piece, words)) << words;
  ASSERT_EQ(piece.internal.size(), 1u);
  EXPECT_NEAR(std::abs(geometry::signed_area({piece.internal[0].begin(), piece.internal[0].end() - 1})), 2500, 1e-6);
  expect_clear(piece);
}

TEST(Labels, ASmallPieceDropsThemInOrderAndSaysSo) {
  panel::Panel panel = drawn::flag_panel();
  panel.outline = drawn::measured(drawn::polygon({{0, 0}, {150, 0}, {140, 45}, {4, 48}}), 0.05);
  panel.marks = {};
  DraftOptions options;
  options.job = "helm seats of a small launch";
  const Piece piece = draft_piece(panel, options);
  EXPECT_TRUE(has_words(piece, "flag"));
  EXPECT_TRUE(has_words(piece, "cut 1"));
  EXPECT_TRUE(has_words(piece, "inside up"));
  EXPECT_TRUE(piece.internal.empty());
  const auto fault =
      std::find_if(piece.faults.begin(), piece.faults.end(), [](const Fault& f) { return f.code == "labels-dropped"; });
  ASSERT_NE(fault, piece.faults.end());
  EXPECT_NE(fault->seen.find("check square"), std::string::npos);
  expect_clear(piece);
}

TEST(Labels, ThatAPieceIsAdjustedStandsInTheSecondLineWhichIsHardlyEverDropped) {
  Piece piece;
  piece.name = "front";
  piece.adjusted = true;
  piece.quantity = 2;
  piece.one_mirrored = true;
  EXPECT_EQ(label_lines(piece).at(1), "cut 2, one mirrored, adjusted to its seams");
}

TEST(Labels, TheFaceViewReadsTheSame) {
  const Piece face = other_side(draft_piece(drawn::flag_panel()));
  expect_clear(face);
}

}  // namespace
}  // namespace chalkfold::draft
