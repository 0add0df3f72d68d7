// SPDX-License-Identifier: Apache-2.0
// Layouts of random sets looked at by a second implementation, GEOS through Debian's python3-shapely, which turns and shifts the
// outlines by itself: no overlap, the gap kept, nothing beside the roll, allowed turns only, no more area than the roll has.
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <numbers>
#include <random>

#include "pipeline/draft/layout/roll_layout.h"
#include "pipeline/geometry/polygon.h"
#include "tests/common/run_program.h"

namespace chalkfold {
namespace {

double uniform(std::mt19937& random, double from, double to) { return from + (to - from) * (random() / 4294967296.0); }

/// Corners around a middle, hollow more often than not.
Polyline outline(std::mt19937& random) {
  const int count = 5 + static_cast<int>(random() % 12);
  const double along = uniform(random, 100, 420), across = uniform(random, 60, 300);
  Polyline corners;
  for (int i = 0; i < count; ++i) {
    const double angle = 2 * std::numbers::pi * (i + uniform(random, -0.3, 0.3)) / count,
                 reach = uniform(random, 0.5, 1);
    corners.emplace_back(reach * along * std::cos(angle), reach * across * std::sin(angle));
  }
  return corners;
}

nlohmann::json set_json(std::mt19937& random, int number) {
  const double base = uniform(random, 0, 6), quarter = std::numbers::pi / 2;
  const std::vector<double> turns[] = {
      {base}, {base, base + 2 * quarter}, {base, base + quarter, base + 2 * quarter, base + 3 * quarter}};
  std::vector<draft::RollPiece> pieces;
  for (int i = 0; i < 10; ++i) pieces.push_back({outline(random), turns[number % 3]});
  draft::RollOptions options;
  options.width = uniform(random, 900, 1600);
  options.gap = number % 2 ? 2 : uniform(random, 0, 8);
  const draft::RollLayout layout = draft::roll_layout(pieces, options);
  nlohmann::json json = {
      {"width", options.width}, {"gap", options.gap}, {"length", layout.length}, {"pieces", nlohmann::json::array()}};
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    nlohmann::json points = nlohmann::json::array();
    for (const Vec2& p : pieces[i].outline) points.push_back({p.x(), p.y()});
    const draft::RollPlace& place = layout.places[i];
    json["pieces"].push_back({{"outline", points},
                              {"turns", pieces[i].turns},
                              {"placed", place.placed},
                              {"turn", place.turn},
                              {"shift", {place.shift.x(), place.shift.y()}}});
  }
  return json;
}

TEST(RollLayoutByGeos, NineRandomSetsOfTenPieces) {
  std::mt19937 random(7);
  nlohmann::json cases = nlohmann::json::array();
  for (int i = 0; i < 9; ++i) cases.push_back(set_json(random, i));
  const test::TemporaryFolder folder;
  test::write_whole(folder / "cases.json", cases.dump());
  const test::ProgramRun run =
      test::run_program({CHALKFOLD_PYTHON, std::string(CHALKFOLD_SOURCE_DIR) + "/tests/outside/check_layouts.py",
                         (folder / "cases.json").string()});
  EXPECT_EQ(run.exit, 0) << run.out << run.err;
  std::printf("%s", run.out.c_str());
}

}  // namespace
}  // namespace chalkfold
