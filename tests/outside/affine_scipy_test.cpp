// SPDX-License-Identifier: Apache-2.0
// Our affine maps between outlines against a second solution by Debian's python3-scipy and python3-shapely (check_affine.py has the
// bound): outlines of known change with the noise of a photograph.
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <random>

#include "pipeline/geometry/outline_registration.h"
#include "tests/common/run_program.h"
#include "tests/draft/drawn_shapes.h"

namespace chalkfold {
namespace {

double uniform(std::mt19937& random, double from, double to) { return from + (to - from) * (random() / 4294967296.0); }

nlohmann::json points(const Polyline& line) {
  nlohmann::json list = nlohmann::json::array();
  for (const Vec2& p : line) list.push_back({p.x(), p.y()});
  return list;
}

nlohmann::json numbers(const geometry::Affine2& map) {
  const Mat2& m = map.linear;
  return {m(0, 0), m(0, 1), m(1, 0), m(1, 1), map.shift.x(), map.shift.y()};
}

TEST(AffineByScipy, OutlinesThatChangedByUpToThreePercent) {
  constexpr double noise = 0.03;  // mm
  std::mt19937 random(4);
  nlohmann::json cases = nlohmann::json::array();
  for (std::uint32_t k = 0; k < 6; ++k) {
    Polyline corners{{0, 0}, {600, 80}, {520, 420}, {220, 320}, {80, 480}};
    for (Vec2& p : corners) p += Vec2(uniform(random, -40, 40), uniform(random, -40, 40));
    geometry::Affine2 truth;
    const geometry::Rigid2 turn{uniform(random, -0.3, 0.3), {uniform(random, -50, 50), 0}};
    truth.linear << 1 + uniform(random, -0.03, 0.03), uniform(random, -0.01, 0.01), 0, 1 + uniform(random, -0.03, 0.03);
    geometry::Affine2 start;
    start.linear << std::cos(turn.angle), -std::sin(turn.angle), std::sin(turn.angle), std::cos(turn.angle);
    start.shift = turn.shift;
    Polyline moved;
    for (const Vec2& p : corners) moved.push_back(turn * Vec2(truth.linear * p));
    const Polyline reference = drawn::measured(drawn::polygon(corners), noise, 10 + k).points,
                   measured = drawn::measured(drawn::polygon(moved), noise, 20 + k).points;
    const geometry::OutlineRegistration fit =
        geometry::register_outlines(geometry::ClosedOutline(reference), geometry::ClosedOutline(measured)).front();
    cases.push_back({{"reference", points(reference)},
                     {"measured", points(measured)},
                     {"start", numbers(start)},
                     {"ours", numbers(fit.affine)}});
  }
  const test::TemporaryFolder folder;
  test::write_whole(folder / "cases.json", cases.dump());
  const test::ProgramRun run =
      test::run_program({CHALKFOLD_PYTHON, std::string(CHALKFOLD_SOURCE_DIR) + "/tests/outside/check_affine.py",
                         (folder / "cases.json").string()});
  EXPECT_EQ(run.exit, 0) << run.out << run.err;
  std::printf("%s", run.out.c_str());
}

}  // namespace
}  // namespace chalkfold
