// SPDX-License-Identifier: Apache-2.0
// A cushion's top with a chalked centre line, its right half stretched by 2.5 %: from the photograph to the piece, against the
// design. The photo has half the resolution of a phone's.
#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/reflection.h"
#include "tests/common/rendered_photo.h"
#include "tests/tools/outline_check.h"

namespace chalkfold::tools {
namespace {

using Json = nlohmann::json;
using test::points_of;
constexpr double degree = M_PI / 180;

double rms_from(const Polyline& points, const Polyline& outline) {
  double squares = 0;
  for (const Vec2& p : points) squares += std::pow(geometry::distance_to(outline, p, true), 2);
  return std::sqrt(squares / static_cast<double>(points.size()));
}

class WornPanel : public testing::Test {
 protected:
  Json run(const std::string& fold) {
    const test::ProgramRun program = test::measure({test::rendered_photo("worn")}, folder.path(), {"--fold", fold});
    EXPECT_EQ(program.exit, 0) << program.err;
    return Json::parse(test::read_whole(folder / "pieces/worn.json"));
  }

  /// The truth's design laid on a piece, axis on axis: both are symmetric, so only the place along the axis is left to find.
  static double error(const Json& piece) {
    const Json panel = test::truth_of("worn")["panels"][0];
    const Polyline design = points_of(panel["design_outline"]),
                   cut = geometry::resample_closed(points_of(piece["cut_line"]), 600), axis = points_of(piece["axis"]);
    const auto own = geometry::mirror_axes(design).front();
    const double target = std::atan2(axis[1].y() - axis[0].y(), axis[1].x() - axis[0].x());
    double best = 1e300;
    for (const double half : {0.0, M_PI}) {
      geometry::Rigid2 motion{target + half - std::atan2(own.direction.y(), own.direction.x()), Vec2::Zero()};
      motion.shift = geometry::centroid(cut) - motion * geometry::centroid(design);
      Polyline laid;
      for (const Vec2& p : geometry::resample_closed(design, 2000)) laid.push_back(motion * p);
      const Vec2 along = (axis[1] - axis[0]).normalized(), side(-along.y(), along.x());
      for (Vec2& p : laid) p += side.dot(axis[0] - geometry::centroid(laid)) * side;  // its axis onto the piece's
      for (double shift = -4; shift <= 4; shift += 0.1) {
        Polyline moved = laid;
        for (Vec2& p : moved) p += shift * along;
        best = std::min(best, rms_from(cut, moved));
      }
    }
    return best;
  }

  test::TemporaryFolder folder;
};

TEST_F(WornPanel, TheSoundHalfFoldedOverIsTheDesign) {
  const double rms = error(run("left"));
  std::printf("fold left: rms %.3f mm\n", rms);
  EXPECT_LT(rms, 0.3);
}

TEST_F(WornPanel, TheMeanHalvesTheErrorOfTheWorseHalf) {
  const double mean = error(run("mean")), worse = error(run("right"));
  std::printf("mean: rms %.3f mm, right half alone %.3f mm\n", mean, worse);
  EXPECT_LT(mean, 0.5 * worse + 0.15);  // mm: what the sound half itself is off by
}

TEST_F(WornPanel, ThePieceIsExactlySymmetric) {
  const Json piece = run("mean");
  const Polyline cut = points_of(piece["cut_line"]), axis_ends = points_of(piece["axis"]);
  geometry::MirrorAxis axis;
  axis.point = axis_ends[0];
  axis.direction = (axis_ends[1] - axis_ends[0]).normalized();
  for (const Vec2& p : cut) EXPECT_LT(geometry::distance_to(cut, axis.image(p), true), 1e-6);
}

TEST_F(WornPanel, TheAxisIsThatOfTheDesign) {
  const Json piece = run("mean"), panel = test::truth_of("worn")["panels"][0];
  // Registered by what was measured and what lay there: both are worn alike.
  const Json measured = Json::parse(test::read_whole(folder / "measured/worn.json"));
  const Vec2 origin(measured["frame"]["origin_in_table"][0], measured["frame"]["origin_in_table"][1]);
  Polyline there = points_of(panel["outline_without_notches"]), seen;
  for (const Vec2& p : points_of(measured["outline"]["points"])) seen.push_back(p + origin);
  geometry::Rigid2 seen_from_truth;
  double best = 1e300;
  for (int k = 0; k < 72; ++k) {
    geometry::Rigid2 tried{k * 5 * degree, Vec2::Zero()};
    tried.shift = geometry::centroid(seen) - tried * geometry::centroid(there);
    for (int round = 0; round < 30; ++round) {
      Polyline nearest, from = geometry::resample_closed(there, 300);
      for (const Vec2& p : from) {
        const Vec2 q = tried * p;
        nearest.push_back(*std::min_element(seen.begin(), seen.end(), [&](const Vec2& a, const Vec2& b) {
          return (a - q).squaredNorm() < (b - q).squaredNorm();
        }));
      }
      tried = geometry::fit_rigid(from, nearest);
      if (round == 3 && rms_from({tried * from[0], tried * from[100], tried * from[200]}, seen) > 60) break;
    }
    Polyline laid;
    for (const Vec2& p : geometry::resample_closed(there, 300)) laid.push_back(tried * p);
    const double rms = rms_from(laid, seen);
    if (rms >= best) continue;
    best = rms;
    seen_from_truth = tried;
  }
  const Polyline truth = points_of(panel["axis"]), found = points_of(piece["axis"]);
  const Vec2 a = seen_from_truth * truth[0], b = seen_from_truth * truth[1], along = (b - a).normalized(),
             side(-along.y(), along.x());
  const Vec2 own = (found[1] - found[0]).normalized();
  const double turn = std::asin(std::abs(own.x() * along.y() - own.y() * along.x())) / degree,
               off = std::abs(side.dot(0.5 * (found[0] + found[1]) - a));
  std::printf("axis off by %.3f deg, %.3f mm\n", turn, off);
  EXPECT_LT(turn, 0.3);
  EXPECT_LT(off, 0.7);
}

}  // namespace
}  // namespace chalkfold::tools
