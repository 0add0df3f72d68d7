// SPDX-License-Identifier: Apache-2.0
// What the survey promises against what it does: predicted sigma against many noisy draws, and against the table of
// limits that the project was planned with.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "calib/sheet_layout.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/survey/bundle.h"
#include "pipeline/survey/survey.h"
#include "tests/survey/synthetic.h"

namespace chalkfold::survey {
namespace {

constexpr double corner_noise_px = 0.1;

/// True print, measured to nothing, so that only the camera and the corners are in doubt.
SurveyOptions true_print() {
  SurveyOptions options;
  options.print.long_bar_mm = sheet::long_bar;
  options.print.short_bar_mm = sheet::short_bar;
  options.print.sigma_mm = 1e-6;
  return options;
}

/// A phone drawn from what the survey believes of phones when EXIF alone tells of the lens.
calib::Lens random_phone(const LensPrior& prior, Random& random) {
  calib::Lens lens = usual_lens();
  const double diagonal = std::hypot(lens.width, lens.height), nominal = lens.focal_px;
  const double corner = 0.5 * diagonal / nominal;
  lens.focal_px = nominal * (1 + random.normal(prior.focal_sigma)) * (1 + random.normal(prior.breathing_sigma));
  lens.centre_x_px =
      0.5 * (lens.width - 1) + random.normal(prior.centre_sigma * diagonal) + random.normal(prior.stabiliser_sigma_px);
  lens.centre_y_px =
      0.5 * (lens.height - 1) + random.normal(prior.centre_sigma * diagonal) + random.normal(prior.stabiliser_sigma_px);
  lens.p1 = random.normal(prior.tangential_sigma);
  lens.p2 = random.normal(prior.tangential_sigma);
  // The radial terms are bounded one by one and by their sum at two radii: draw from the product of those bounds.
  Mat3 information = Mat3::Zero();
  const auto bound = [&](const Vec3& row, double sigma) { information += row * row.transpose() / (sigma * sigma); };
  const auto at = [](double r) { return Vec3(std::pow(r, 2), std::pow(r, 4), std::pow(r, 6)); };
  for (int k = 0; k < 3; ++k) bound(Vec3::Unit(k) * at(corner)[k], prior.distortion_term_sigma);
  bound(at(0.5 * corner), prior.distortion_mid_sigma);
  bound(at(corner), prior.distortion_corner_sigma);
  const Vec3 drawn =
      Eigen::LLT<Mat3>(information).matrixU().solve(Vec3(random.normal(), random.normal(), random.normal()));
  lens.k1 = drawn[0];
  lens.k2 = drawn[1];
  lens.k3 = drawn[2];
  return lens;
}

struct Spread {
  double real = 0, said = 0;  // mm, rms over draws and outline points
};

/// Real error of the mapped outline, along its normals with rigid motion removed, against shape_sigma.
Spread spread_of(int sheet_count, int draws, std::uint64_t seed) {
  Random random(seed);
  const TrueOutline outline = panel_outline();
  const auto sheets = sheets_around(sheet_count);
  std::vector<double> real, said;
  for (int i = 0; i < draws; ++i) {
    const TrueCamera camera{random_phone({}, random), pose_of({1050, random.uniform(0, 30), random.uniform(0, 360)})};
    capture::Sighting sighting = sight(camera, sheets, corner_noise_px);
    add_noise(sighting, corner_noise_px, random);
    const Survey survey = solve_survey(std::vector<capture::Sighting>{sighting}, true_print());
    if (!survey.views[0]) {
      ADD_FAILURE() << "draw " << i << " gave no view";
      continue;
    }
    Polyline mapped, normals;
    for (const Vec2& p : outline.points) mapped.push_back(survey.views[0]->table_from_photo(seen_at(camera, p, 0), 0));
    const geometry::Rigid2 found_from_truth = geometry::fit_rigid(outline.points, mapped);
    for (const Vec2& v : outline.normals) normals.push_back(geometry::Rigid2{found_from_truth.angle, Vec2::Zero()} * v);
    real.push_back(rms(shape_error(outline, mapped)));
    said.push_back(rms(survey.views[0]->shape_sigma(mapped, normals, 0, 0)));
  }
  return {rms(real), rms(said)};
}

// The rms over 200 draws of some three independent ways to err scatters by 3 %, and by what is not linear: 20 % in all.
constexpr double honest = 0.20;

class Precision : public testing::TestWithParam<int> {};
INSTANTIATE_TEST_SUITE_P(Sheets, Precision, testing::Values(2, 3, 4));

TEST_P(Precision, ShapeSigmaIsTheSpreadOfNoisyDraws) {
  const Spread spread = spread_of(GetParam(), 200, 100 + static_cast<std::uint64_t>(GetParam()));
  fmt::print("{} sheets, EXIF only, 200 draws: real {:.4f} mm, said {:.4f} mm\n", GetParam(), spread.real, spread.said);
  EXPECT_NEAR(spread.real / spread.said, 1, honest);
}

enum class Known { exactly, profile, exif };

/// shape_sigma of one photo with the lens known exactly: sheets and pose free, lens held.
std::vector<double> sigma_with_exact_lens(const TrueCamera& camera, const std::vector<SheetPlace>& sheets,
                                          const TrueOutline& outline) {
  Bundle bundle;
  bundle.lenses.emplace_back();
  const calib::Lens& l = camera.lens;
  bundle.lenses[0].value = {l.focal_px, 1, 0, l.centre_x_px, l.centre_y_px, l.k1, l.k2, l.p1, l.p2, l.k3};
  bundle.lenses[0].fixed.fill(true);
  bundle.breathing_sigma = bundle.stabiliser_sigma_px = 0;
  bundle.photos.push_back({0, 0, camera.pose});
  for (const capture::SheetSighting& seen : sight(camera, sheets, corner_noise_px).sheets) {
    const auto place =
        std::find_if(sheets.begin(), sheets.end(), [&](const SheetPlace& s) { return s.number == seen.number; });
    for (const capture::CornerSighting& c : seen.corners) {
      bundle.observations.push_back(
          {0, static_cast<int>(bundle.boards.size()), sheet::corner(c.corner), c.at_in_photo, corner_noise_px});
    }
    bundle.boards.push_back({0, place->number, place->centre, place->theta, bundle.boards.empty()});
  }
  TableView::Solution s;
  s.width = l.width;
  s.height = l.height;
  s.lens = l;
  s.pose = camera.pose;
  s.covariance = bundle_covariances(bundle).photos.at(0);
  return TableView(s).shape_sigma(outline.points, outline.normals, 0, 0);
}

std::vector<double> sigma_of(Known known, const TrueCamera& camera, const std::vector<SheetPlace>& sheets,
                             const TrueOutline& outline) {
  if (known == Known::exactly) return sigma_with_exact_lens(camera, sheets, outline);
  SurveyOptions options = true_print();
  if (known == Known::profile) options.lens.lens = camera.lens;
  const Survey survey = solve_survey(std::vector<capture::Sighting>{sight(camera, sheets, corner_noise_px)}, options);
  if (!survey.views[0]) throw std::runtime_error("no view from exact corners");
  Polyline points, normals;
  const geometry::Rigid2 found_from_truth = [&] {
    Polyline mapped;
    for (const Vec2& p : outline.points) mapped.push_back(survey.views[0]->table_from_photo(seen_at(camera, p, 0), 0));
    points = mapped;
    return geometry::fit_rigid(outline.points, mapped);
  }();
  for (const Vec2& v : outline.normals) normals.push_back(geometry::Rigid2{found_from_truth.angle, Vec2::Zero()} * v);
  return survey.views[0]->shape_sigma(points, normals, 0, 0);
}

struct Limit {
  int sheets;
  Known known;
  double rms_low, rms_high, worst_low, worst_high;  // mm
};

// Planned limits, mm: rms and worst point for 700 x 600 mm from 1.05 m, tilt 0 to 30 degrees, 0.1 px corner noise.
constexpr Limit limits[] = {
    {1, Known::exactly, 0.09, 0.09, 0.19, 0.19}, {1, Known::profile, 0.2, 0.5, 0.6, 1.1},
    {1, Known::exif, 0.5, 0.9, 1.4, 2.2},        {2, Known::exactly, 0.03, 0.03, 0.06, 0.06},
    {2, Known::profile, 0.04, 0.13, 0.06, 0.19}, {2, Known::exif, 0.06, 0.26, 0.08, 0.39},
    {3, Known::exactly, 0.02, 0.02, 0.05, 0.05}, {3, Known::profile, 0.03, 0.06, 0.05, 0.09},
    {3, Known::exif, 0.04, 0.08, 0.06, 0.11},    {4, Known::exactly, 0.02, 0.02, 0.04, 0.04},
    {4, Known::profile, 0.04, 0.05, 0.05, 0.07}, {4, Known::exif, 0.04, 0.06, 0.05, 0.08},
};

// Where exactly the sheets lay and how wide the priors were is not told with the limits: the middle one of all views
// within this factor of them. Single views may be worse: a phone leaning over its only sheet sees it straight on, and
// cannot tell tilt from shift.
constexpr double same_limit = 1.6;

struct Range {
  std::vector<double> values;
  void add(double v) { values.insert(std::upper_bound(values.begin(), values.end(), v), v); }
  double middle() const { return values[values.size() / 2]; }
};

TEST(Precision, MeetsThePlannedLimits) {
  const char* names[] = {"lens known exactly", "lens profile", "EXIF only"};
  const TrueOutline outline = panel_outline();
  for (const Limit& limit : limits) {
    Range rms_range, worst_range;
    for (const double tilt_deg : {0.0, 10.0, 20.0, 30.0}) {
      for (const double heading_deg : {0.0, 90.0, 225.0}) {
        const TrueCamera camera{usual_lens(), pose_of({1050, tilt_deg, heading_deg})};
        const auto sigma = sigma_of(limit.known, camera, sheets_around(limit.sheets), outline);
        rms_range.add(rms(sigma));
        worst_range.add(worst(sigma));
      }
    }
    fmt::print("{} sheets, {:18}: rms {:.3f} ({:.3f}-{:.3f}), worst {:.3f} ({:.3f}-{:.3f}) mm; planned {}-{}, {}-{}\n",
               limit.sheets, names[static_cast<int>(limit.known)], rms_range.middle(), rms_range.values.front(),
               rms_range.values.back(), worst_range.middle(), worst_range.values.front(), worst_range.values.back(),
               limit.rms_low, limit.rms_high, limit.worst_low, limit.worst_high);
    EXPECT_LT(rms_range.middle(), limit.rms_high * same_limit);
    EXPECT_GT(rms_range.middle(), limit.rms_low / same_limit);
    EXPECT_LT(worst_range.middle(), limit.worst_high * same_limit);
    EXPECT_GT(worst_range.middle(), limit.worst_low / same_limit);
  }
}

}  // namespace
}  // namespace chalkfold::survey
