// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <functional>
#include <string>
#include <vector>

#include "pipeline/common/require.h"
#include "pipeline/geometry/closed_outline.h"
#include "pipeline/geometry/cubic_fit.h"
#include "pipeline/geometry/curve_fit.h"
#include "pipeline/geometry/curve_split.h"
#include "pipeline/geometry/edge_corners.h"
#include "pipeline/geometry/offset.h"
#include "pipeline/geometry/outline_gap.h"
#include "pipeline/geometry/outline_registration.h"
#include "pipeline/geometry/parallel.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/reflection.h"
#include "pipeline/geometry/smallest_rectangle.h"

namespace chalkfold::geometry {
namespace {

const Polyline square = {{0, 0}, {100, 0}, {100, 100}, {0, 100}};

CurveSegment line(const Vec2& from, const Vec2& to) {
  CurveSegment s;
  s.from = from;
  s.to = to;
  return s;
}

CurveSegment cubic() {
  CurveSegment s = line({0, 0}, {100, 0});
  s.kind = CurveSegment::Kind::cubic;
  s.control1 = {30, 20};
  s.control2 = {70, 20};
  return s;
}

struct Case {
  std::string told;
  std::function<void()> call;
};

/// Each is refused with these words, and told where.
void expect_refused(const std::vector<Case>& cases) {
  for (const Case& c : cases) {
    try {
      c.call();
      ADD_FAILURE() << "passed: " << c.told;
    } catch (const PreconditionError& e) {
      const std::string what = e.what();
      EXPECT_NE(what.find(c.told), std::string::npos) << what << " does not say " << c.told;
      EXPECT_TRUE(what.starts_with("pipeline/geometry/")) << what << " does not say where";
    }
  }
}

TEST(Preconditions, OfOutlines) {
  expect_refused({
      {"points of the outline is 0, at least 1", [] { centroid({}); }},
      {"points of the line is 0, at least 1",
       [] {
         distance_to({}, {0, 0}, false);
       }},
      {"count is 0, at least 1", [] { resample_closed(square, 0); }},
      {"length of the outline, mm, is 0, more than 0",
       [] {
         resample_closed({{1, 1}, {1, 1}}, 4);
       }},
      {"source points is 0, at least 1", [] { fit_rigid({}, {}); }},
      {"target points is 1, 4 needed",
       [] {
         fit_rigid(square, {{0, 0}});
       }},
      {"points of the closed outline is 2, at least 3",
       [] {
         ClosedOutline({{0, 0}, {1, 0}});
       }},
      {"area of the outline that is laid, mm2, is -5000, more than 0",
       [] {
         const ClosedOutline clockwise({{0, 0}, {0, 100}, {100, 0}});
         register_outlines(clockwise, ClosedOutline(square));
       }},
      {"segment of the place before is 4, less than 4",
       [] {
         OutlinePlace before;
         before.segment = 4;
         ClosedOutline(square).nearest_about({0, 0}, before, 1);
       }},
      {"points of the outline is 2, at least 3",
       [] {
         find_edge_corners({{0, 0}, {1, 0}});
       }},
  });
}

TEST(Preconditions, OfCurves) {
  expect_refused({
      {"segments of the curve is 0, at least 1", [] { place_along({}, 1); }},
      {"tolerance, mm, is 0, more than 0", [] { flattened({cubic()}, 0); }},
      {"t is not in (0, 1]", [] { first_part(cubic(), 0); }},
      {"t is not in (0, 1]", [] { first_part(cubic(), 1.01); }},
  });
}

TEST(Preconditions, OfFits) {
  const WeightedPoints three{{{0, 0}, {5, 0}, {10, 0}}, {1, 1, 1}};
  const CurveChain one_line{{0, 0}, 0, {{true, 10, 0, 0}}};
  expect_refused({
      {"points to split is 2, at least 3",
       [] {
         split_curve({{{0, 0}, {1, 0}}, {1, 1}}, {});
       }},
      {"weights of the points is 2, 3 needed",
       [] {
         split_curve({{{0, 0}, {1, 0}, {2, 0}}, {1, 1}}, {});
       }},
      {"last point is 3, less than 3", [&] { one_arc_does(three, 0, 3, {}); }},
      {"last point is 1, at least 2", [&] { one_arc_does(three, 0, 1, {}); }},
      {"points of the run is 2, at least 3",
       [] {
         fit_curve({{0, 0}, {1, 0}}, {1, 1});
       }},
      {"sigmas of the run is 1, 4 needed", [] { fit_curve(square, {1}); }},
      {"length of the run, mm, is 0, more than 0",
       [] {
         fit_curve({{1, 1}, {1, 1}, {1, 1}}, {1, 1, 1});
       }},
      {"segments of the curve is 0, at least 1", [] { distances_to_curve({}, square); }},
      {"weights of the points is 0, 4 needed",
       [] {
         merge_arcs({cubic()}, {square, {}}, {});
       }},
      {"parts of the chain is 0, at least 1", [] { distances_from({}, square); }},
      {"parts of the chain is 0, at least 1", [&] { fit_chain({}, three, {}); }},
      {"points to follow is 0, at least 1", [&] { fit_chain(one_line, {}, {}); }},
      {"a weight of the points is not positive",
       [&] {
         fit_chain(one_line, {{{0, 0}, {5, 0}, {10, 0}}, {1, 0, 1}}, {});
       }},
  });
}

TEST(Preconditions, OfParallelsAndAxes) {
  expect_refused({
      {"edges is 0, at least 1", [] { offset_edges({}); }},
      {"segments of an edge is 0, at least 1",
       [] {
         offset_edges({{{}, 1}});
       }},
      {"gap between two edges, mm, is 1, 0 to 0.0001",
       [] {
         offset_edges({{{line({0, 0}, {100, 0})}, 1}, {{line({100, 1}, {0, 100})}, 1}, {{line({0, 100}, {0, 0})}, 1}});
       }},
      {"start of the part, mm, is -1, at least",
       [] {
         part_between({line({0, 0}, {10, 0})}, -1, 5);
       }},
      {"end of the part, mm, is 5, more than 5",
       [] {
         part_between({line({0, 0}, {10, 0})}, 5, 5);
       }},
      {"end of the part, mm, is 11, 5 to 10",
       [] {
         part_between({line({0, 0}, {10, 0})}, 5, 11);
       }},
      {"points of the first is 0, at least 1", [] { gap_between({}, square); }},
      {"points of the second is 0, at least 1", [] { gap_between(square, {}); }},
      {"points of the outline is 2, at least 3",
       [] {
         grown_outline({{0, 0}, {1, 0}}, 1, 1);
       }},
      {"growth, mm, is -1, at least 0", [] { grown_outline(square, -1, 1); }},
      {"slack, mm, is 0, more than 0", [] { grown_outline(square, 1, 0); }},
      {"the segment is no cubic",
       [] {
         cubic_parallel(line({0, 0}, {1, 0}), 1, 0.1, false);
       }},
      {"tolerance, mm, is 0, more than 0", [] { cubic_parallel(cubic(), 1, 0, false); }},
      {"points of the outline is 4, at least 8",
       [] {
         fit_mirror_axis(square, {0, 0}, {0, 1}, {});
       }},
      {"length of the direction is 0, more than 0",
       [] {
         fit_mirror_axis(resample_closed(square, 20), {0, 0}, {0, 0}, {});
       }},
      {"points of the outline is 4, at least 8", [] { mirror_axes(square); }},
      {"corners of the points' hull is 2, at least 3",
       [] {
         smallest_rectangle({{0, 0}, {1, 1}, {2, 2}});
       }},
  });
}

// Beside the point that is given twice, the outward normal is that of the edge: (1, 0) on a square's right side.
TEST(ClosedOutline, APointGivenTwiceCountsOnce) {
  const ClosedOutline twice({{100, 100}, {100, 100}, {0, 100}, {0, 0}, {100, 0}});
  const OutlinePlace place = twice.nearest({103, 102});
  EXPECT_DOUBLE_EQ(place.outward.norm(), 1) << "of an edge, not of a stretch without length";
  EXPECT_EQ(place.point, Vec2(100, 100));
  EXPECT_GT(place.away, 0);
}

}  // namespace
}  // namespace chalkfold::geometry
