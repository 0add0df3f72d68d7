// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/piece/outline_edges.h"

#include <gtest/gtest.h>

#include "pipeline/geometry/polygon.h"
#include "tests/draft/drawn_shapes.h"

namespace chalkfold::draft {
namespace {

struct Shape {
  const char* name;
  geometry::Curve truth;
  /// segments: the fewest that draw it
  std::size_t corners, segments;
};

std::vector<Shape> shapes() {
  return {{"rectangle", drawn::rectangle(420, 300), 4, 4},
          {"circle", drawn::circle(140), 0, 1},
          {"stadium", drawn::stadium(240, 90), 0, 4},
          {"rounded trapezoid", drawn::rounded_trapezoid(), 0, 8},
          {"star", drawn::star(340, 160), 10, 10}};
}

geometry::Curve joined(const std::vector<OutlineEdge>& edges) {
  geometry::Curve all;
  for (const OutlineEdge& edge : edges) all.insert(all.end(), edge.curve.begin(), edge.curve.end());
  return all;
}

double largest_distance(const geometry::Curve& from, const geometry::Curve& to) {
  const Polyline target = geometry::flattened(to, 0.002);
  double largest = 0;
  for (const Vec2& p : geometry::flattened(from, 0.002))
    largest = std::max(largest, geometry::distance_to(target, p, true));
  return largest;
}

/// The bars: expected counts, departure under 0.3 mm, area within 0.05 %, at 0.1 and 0.4 mm noise.
class KnownShape : public testing::TestWithParam<std::tuple<int, double, int>> {};

TEST_P(KnownShape, ComesBackWithItsCornersAndSegments) {
  const auto [which, noise, seed] = GetParam();
  const Shape shape = shapes()[static_cast<std::size_t>(which)];
  const auto edges = fit_edges(drawn::measured(shape.truth, noise, static_cast<std::uint32_t>(seed)), {});
  const geometry::Curve curve = joined(edges);
  EXPECT_EQ(edges.size(), std::max<std::size_t>(1, shape.corners)) << shape.name;
  EXPECT_EQ(curve.size(), shape.segments) << shape.name;
  EXPECT_LT(largest_distance(curve, shape.truth), 0.3) << shape.name;
  EXPECT_LT(largest_distance(shape.truth, curve), 0.3) << shape.name;
  const double area = geometry::signed_area(geometry::flattened(shape.truth, 0.001)),
               found = geometry::signed_area(geometry::flattened(curve, 0.001));
  EXPECT_NEAR(found / area, 1, 0.0005) << shape.name;
  for (const OutlineEdge& edge : edges) EXPECT_TRUE(edge.within_tolerance) << shape.name;
  for (std::size_t e = 0; e < edges.size(); ++e)
    for (std::size_t i = 0; i + 1 < edges[e].curve.size(); ++i) {  // tangent-continuous inside an edge
      const Vec2 a = edges[e].curve[i].direction(1), b = edges[e].curve[i + 1].direction(0);
      EXPECT_LT((a - b).norm(), 1e-6) << shape.name;
      EXPECT_LT((edges[e].curve[i].to - edges[e].curve[i + 1].from).norm(), 1e-9) << shape.name;
    }
}

INSTANTIATE_TEST_SUITE_P(Shapes, KnownShape,
                         testing::Combine(testing::Range(0, 5), testing::Values(0.0, 0.1, 0.4), testing::Range(1, 6)),
                         [](const auto& chosen) {
                           std::string name = shapes()[static_cast<std::size_t>(std::get<0>(chosen.param))].name;
                           std::replace(name.begin(), name.end(), ' ', '_');
                           return name + "_noise" + std::to_string(static_cast<int>(10 * std::get<1>(chosen.param))) +
                                  "_seed" + std::to_string(std::get<2>(chosen.param));
                         });

}  // namespace
}  // namespace chalkfold::draft
