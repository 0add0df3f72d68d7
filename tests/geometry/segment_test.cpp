// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/segment.h"

#include <gtest/gtest.h>

#include <cmath>

#include "pipeline/geometry/vectors.h"

namespace chalkfold::geometry {
namespace {

constexpr double rounding = 1e-12;  // mm

struct SegmentCase {
  const char* what;
  Vec2 p, a, b;
  double share, distance;
};

// Worked out by hand: right triangles of 3, 4 and 5.
const SegmentCase segment_cases[] = {
    {"beside its middle", {5, 3}, {0, 0}, {10, 0}, 0.5, 3},
    {"before its start", {-3, 4}, {0, 0}, {10, 0}, 0, 5},
    {"beyond its end", {13, -4}, {0, 0}, {10, 0}, 1, 5},
    {"aslant", {1, 7}, {0, 0}, {6, 8}, 0.62, 3.4},
    {"on it", {3, 4}, {0, 0}, {6, 8}, 0.5, 0},
    {"no length", {3, 4}, {0, 0}, {0, 0}, 0, 5},
    {"far from the origin", {1e6 + 5, 1e6 + 3}, {1e6, 1e6}, {1e6 + 10, 1e6}, 0.5, 3},
};

TEST(Segment, NearestPlacesOfWorkedCases) {
  for (const SegmentCase& c : segment_cases) {
    const SegmentPlace place = nearest_on_segment(c.p, c.a, c.b);
    EXPECT_NEAR(place.share, c.share, rounding) << c.what;
    EXPECT_NEAR((place.point - (c.a + c.share * (c.b - c.a))).norm(), 0, rounding) << c.what;
    EXPECT_NEAR(distance_to_segment(c.p, c.a, c.b), c.distance, rounding) << c.what;
  }
}

/// A path that turns back beside itself, so that several stretches come near.
const Polyline path = {{0, 0}, {40, 0}, {40, 30}, {5, 30}, {5, 8}, {30, 12}};

TEST(NearestOnLine, NoPlaceWalkedThroughIsNearer) {
  constexpr int steps = 2000;
  // mm, of the longest stretch: no place lies farther than half of it from one walked through
  constexpr double step = 40.0 / steps;
  for (const bool closed : {false, true}) {
    for (double x = -20; x <= 60; x += 6.7) {
      for (double y = -20; y <= 50; y += 7.3) {
        const Vec2 p(x, y);
        double least = 1e300, at = 0, before = 0;
        for (std::size_t i = 0; i + (closed ? 0 : 1) < path.size(); ++i) {
          const Vec2 &a = path[i], &b = path[(i + 1) % path.size()];
          for (int k = 0; k <= steps; ++k) {
            const double away = (a + (b - a) * k / steps - p).norm();
            if (away >= least) continue;
            least = away;
            at = before + (b - a).norm() * k / steps;
          }
          before += (b - a).norm();
        }
        const LinePlace place = nearest_on_line(path, p, closed);
        EXPECT_LE(place.distance, least + rounding) << x << " " << y;
        EXPECT_GT(place.distance, least - step) << x << " " << y;
        EXPECT_NEAR((place.point - p).norm(), place.distance, rounding);
        // Where two stretches are equally near, either may be named: then the walk's place is as near too.
        double walked = 0;
        for (std::size_t i = 0; i < place.segment; ++i) walked += (path[i + 1] - path[i]).norm();
        EXPECT_NEAR(place.along, walked + (place.point - path[place.segment]).norm(), 1e-9);
        if (std::abs(place.along - at) > step) {
          EXPECT_NEAR(place.distance, least, step);
        }
      }
    }
  }
}

TEST(NearestOnLine, OfOnePointIsThatPoint) {
  const LinePlace place = nearest_on_line({{3, 4}}, {0, 0}, false);
  EXPECT_EQ(place.point, Vec2(3, 4));
  EXPECT_DOUBLE_EQ(place.distance, 5);
  EXPECT_DOUBLE_EQ(place.along, 0);
  EXPECT_THROW(nearest_on_line({}, {0, 0}, false), std::logic_error);
}

}  // namespace
}  // namespace chalkfold::geometry
