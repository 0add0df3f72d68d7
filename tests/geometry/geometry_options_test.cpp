// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <limits>

#include "pipeline/geometry/curve_fit.h"
#include "pipeline/geometry/curve_split.h"
#include "pipeline/geometry/edge_corners.h"
#include "pipeline/geometry/offset.h"
#include "pipeline/geometry/outline_registration.h"
#include "tests/common/option_cases.h"

namespace chalkfold::geometry {
namespace {

using test::expect_checked;
constexpr double none = std::numeric_limits<double>::quiet_NaN();

TEST(GeometryOptions, OfCorners) {
  using O = EdgeCornerOptions;
  expect_checked<O>({{"gap beside corners, mm, is -1;", [](O& o) { o.gap = -1; }},
                     {"arm of corners, mm, is 4; it must be 5 to", [](O& o) { o.arm = 4; }},
                     {"arm of corners, mm, is nan", [](O& o) { o.arm = none; }},
                     {"least turn of corners, rad, is 0;", [](O& o) { o.least_turn = 0; }},
                     {"largest radius of corners, mm, is -8;", [](O& o) { o.largest_radius = -8; }},
                     {"short arm of corners, mm, is 1;", [](O& o) { o.short_arm = 1; }},
                     {"distance of corners, mm, is 1000;", [](O& o) { o.apart = 1000; }}});
}

TEST(GeometryOptions, OfCurves) {
  using O = CurveFitOptions;
  expect_checked<O>({{"tolerance of the curve, mm, is 0;", [](O& o) { o.tolerance = 0; }},
                     {"window of the curve, mm, is 0;", [](O& o) { o.window = 0; }},
                     {"clip of distances, mm, is 0;", [](O& o) { o.clip = 0; }},
                     {"least radius of the curve, mm, is -1;", [](O& o) { o.least_radius = -1; }},
                     {"bin of the curve's points, mm, is 0;", [](O& o) { o.bin = 0; }},
                     {"most bins of the curve's points is 3; it must be 12 to", [](O& o) { o.most_bins = 3; }}});
}

TEST(GeometryOptions, OfParts) {
  using O = SplitOptions;
  expect_checked<O>({{"tolerance of parts, mm, is 0;", [](O& o) { o.tolerance = 0; }},
                     {"window of parts, mm, is 0;", [](O& o) { o.window = 0; }},
                     {"noise of points, mm, is -1;", [](O& o) { o.noise = -1; }},
                     {"clip of distances, mm, is 0;", [](O& o) { o.clip = 0; }},
                     {"largest kink between parts, rad, is 4;", [](O& o) { o.largest_kink = 4; }},
                     {"least length of parts, mm, is 0;", [](O& o) { o.least_length = 0; }}});
}

TEST(GeometryOptions, OfChains) {
  using O = ChainFitOptions;
  expect_checked<O>({{"most iterations of the chain is 0;", [](O& o) { o.most_iterations = 0; }},
                     {"least outlier of the chain, mm, is 0;", [](O& o) { o.least_outlier = 0; }}});
}

TEST(GeometryOptions, OfParallels) {
  using O = OffsetOptions;
  expect_checked<O>({{"mitre limit is -1;", [](O& o) { o.mitre_limit = -1; }},
                     {"tolerance of parallels, mm, is 0;", [](O& o) { o.tolerance = 0; }}});
}

TEST(GeometryOptions, OfRegistration) {
  using O = RegistrationOptions;
  expect_checked<O>({{"starting turns of the registration is 0;", [](O& o) { o.turns = 0; }},
                     {"starting corners of the registration is 101;", [](O& o) { o.corners = 101; }},
                     {"coarse places of the registration is 0;", [](O& o) { o.coarse_places = 0; }},
                     {"places of the registration is 5;", [](O& o) { o.places = 5; }},
                     {"candidates of the registration is 0;", [](O& o) { o.candidates = 0; }},
                     {"angle between candidates, rad, is 5;", [](O& o) { o.apart_angle = 5; }},
                     {"least scale of the registration, mm, is 0;", [](O& o) { o.least_scale = 0; }},
                     {"coarse rounds of the registration is -1;", [](O& o) { o.coarse_rounds = -1; }},
                     {"rounds of the registration is -1;", [](O& o) { o.rounds = -1; }}});
}

TEST(GeometryOptions, AreCheckedWhereTheyAreUsed) {
  const Polyline square = {{0, 0}, {100, 0}, {100, 100}, {0, 100}};
  EdgeCornerOptions corners;
  corners.arm = 0;
  EXPECT_THROW(find_edge_corners(square, corners), UsageError);
  CurveFitOptions curve;
  curve.bin = 0;
  EXPECT_THROW(fit_curve(square, {1, 1, 1, 1}, curve), UsageError);
  RegistrationOptions registration;
  registration.places = 0;
  EXPECT_THROW(register_outlines(ClosedOutline(square), ClosedOutline(square), registration), UsageError);
}

}  // namespace
}  // namespace chalkfold::geometry
