// SPDX-License-Identifier: Apache-2.0
// Our parallels against a second implementation: GEOS's buffer through Debian's python3-shapely, 500 random outlines,
// symmetric difference under 0.05 % (the bound stands in check_offsets.py).
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <numbers>
#include <random>

#include "pipeline/geometry/offset.h"
#include "pipeline/geometry/polygon.h"
#include "tests/common/run_program.h"

namespace chalkfold {
namespace {

double uniform(std::mt19937& random, double from, double to) { return from + (to - from) * (random() / 4294967296.0); }

geometry::CurveSegment side(std::mt19937& random, const Vec2& from, const Vec2& to) {
  geometry::CurveSegment s;
  s.from = from;
  s.to = to;
  const Vec2 d = to - from, left(-d.y(), d.x());
  const double bend = uniform(random, -0.12, 0.12);
  switch (random() % 3) {
    case 0:
      break;
    case 1: {  // an arc that bows by this share of half its chord
      s.kind = geometry::CurveSegment::Kind::arc;
      const double sagitta = bend * 0.5, back = (0.25 - sagitta * sagitta) / (2 * sagitta);
      s.centre = 0.5 * (from + to) + back * left;
      s.counter_clockwise = sagitta > 0;
      break;
    }
    default:
      s.kind = geometry::CurveSegment::Kind::cubic;
      s.control1 = from + 0.33 * d + bend * left;
      s.control2 = from + 0.67 * d + uniform(random, -0.12, 0.12) * left;
  }
  return s;
}

/// Corners around a middle; none turns so far that its mitre would be cut.
std::vector<geometry::Curve> outline(std::mt19937& random) {
  while (true) {
    const int count = 4 + static_cast<int>(random() % 6);
    Polyline corners;
    for (int i = 0; i < count; ++i) {
      const double angle = 2 * std::numbers::pi * (i + uniform(random, -0.25, 0.25)) / count;
      corners.push_back(uniform(random, 150, 320) * Vec2(std::cos(angle), std::sin(angle)));
    }
    std::vector<geometry::Curve> edges;
    for (int i = 0; i < count; ++i)
      edges.push_back(
          {side(random, corners[static_cast<std::size_t>(i)], corners[static_cast<std::size_t>((i + 1) % count)])});
    bool gentle = true;
    for (int i = 0; i < count; ++i) {
      const Vec2 in = edges[static_cast<std::size_t>(i)].back().direction(1),
                 out = edges[static_cast<std::size_t>((i + 1) % count)].front().direction(0);
      gentle = gentle && std::abs(std::atan2(in.x() * out.y() - in.y() * out.x(), in.dot(out))) < 2.2;
    }
    if (gentle) return edges;
  }
}

nlohmann::json points(const Polyline& line) {
  nlohmann::json list = nlohmann::json::array();
  for (const Vec2& p : line) list.push_back({p.x(), p.y()});
  return list;
}

Polyline flat(const std::vector<geometry::Curve>& edges) {
  Polyline all;
  for (const geometry::Curve& edge : edges) {
    const Polyline part = geometry::flattened(edge, 0.003);
    all.insert(all.end(), part.begin(), part.end() - 1);
  }
  return all;
}

TEST(OffsetByGeos, FiveHundredRandomOutlines) {
  std::mt19937 random(20);
  nlohmann::json cases = nlohmann::json::array();
  int folded = 0;
  while (cases.size() < 500) {
    const std::vector<geometry::Curve> edges = outline(random);
    const double distance = cases.size() % 2 ? uniform(random, 3, 20) : -uniform(random, 3, 12);
    std::vector<geometry::OffsetEdge> asked;
    for (const geometry::Curve& edge : edges) asked.push_back({edge, distance});
    if (!geometry::self_crossings(flat(edges)).empty()) continue;
    const geometry::OffsetResult result = geometry::offset_edges(asked);
    if (!result.whole()) {
      ++folded;
      continue;
    }
    cases.push_back({{"outline", points(flat(edges))}, {"distance", distance}, {"ours", points(flat(result.edges))}});
  }
  EXPECT_LT(folded, 25);  // a few of so many outlines do fold
  const test::TemporaryFolder folder;
  test::write_whole(folder / "cases.json", cases.dump());
  const test::ProgramRun run =
      test::run_program({CHALKFOLD_PYTHON, std::string(CHALKFOLD_SOURCE_DIR) + "/tests/outside/check_offsets.py",
                         (folder / "cases.json").string()});
  EXPECT_EQ(run.exit, 0) << run.out << run.err;
  std::printf("%s", run.out.c_str());
}

}  // namespace
}  // namespace chalkfold
