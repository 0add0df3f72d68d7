// SPDX-License-Identifier: Apache-2.0
// Lens profiles in the survey, and photos that would spoil a job: both on invented phones with the truth beside them.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "pipeline/geometry/polygon.h"
#include "pipeline/survey/survey.h"
#include "tests/survey/synthetic.h"

namespace chalkfold::survey {
namespace {

constexpr double noise_px = 0.1;

TrueCamera breathing(const calib::Lens& phone, const Held& held, Random& random) {
  TrueCamera camera{phone, pose_of(held), 1};
  camera.lens.focal_px *= 1 + random.normal(0.005);
  camera.lens.centre_x_px += random.normal(6);
  camera.lens.centre_y_px += random.normal(6);
  return camera;
}

capture::Sighting noisy(const TrueCamera& camera, const std::vector<SheetPlace>& sheets, Random& random,
                        const std::string& name) {
  capture::Sighting s = sight(camera, sheets, noise_px);
  add_noise(s, noise_px, random);
  s.photo = name;
  return s;
}

SurveyOptions bars_measured() {
  SurveyOptions options;
  options.print.long_bar_mm = 240;
  options.print.short_bar_mm = 170;
  options.print.sigma_mm = 1e-3;
  return options;
}

/// What chalkfold lens would find from twelve photos of four sheets that fill the frame.
calib::LensProfile profile_of(const calib::Lens& phone, std::uint64_t seed) {
  Random random(seed);
  const std::vector<SheetPlace> close = {
      {1, {-152, 108}, 1.57}, {2, {152, 107}, 1.58}, {3, {-152, -108}, -1.57}, {4, {152, -108}, 1.56}};
  std::vector<capture::Sighting> sightings;
  for (int i = 0; i < 12; ++i)
    sightings.push_back(noisy(breathing(phone, {440, 20.0 + i % 4 * 3, 30.0 * i, i % 3 * 90.0}, random), close, random,
                              fmt::format("lens {}", i)));
  const Survey survey = solve_survey(sightings, bars_measured());
  calib::LensProfile profile;
  profile.make = "Invented";
  profile.model = "One";
  profile.focal_35mm = 26;
  profile.lens = survey.lenses.at(0);
  profile.covariance = survey.lens_covariances.at(0);
  profile.photos = 12;
  return profile;
}

SurveyOptions with_profile(const calib::LensProfile& profile) {
  SurveyOptions options = bars_measured();
  options.lens.profile = profile;
  return options;
}

int count_of(const Faults& faults, const std::string& code) {
  return static_cast<int>(std::count_if(faults.begin(), faults.end(), [&](const Fault& f) { return f.code == code; }));
}

std::vector<std::string> photos_of(const Faults& faults, const std::string& code) {
  std::vector<std::string> photos;
  for (const Fault& f : faults)
    if (f.code == code) photos.push_back(f.photo);
  return photos;
}

/// The panel as the view measures it, its shape's errors and what the view says of them.
struct Measured {
  std::vector<double> error, sigma;
};

Measured measured(const std::optional<TableView>& view, const TrueCamera& camera) {
  const TrueOutline outline = panel_outline();
  Polyline points;
  for (const Vec2& p : outline.points) points.push_back(view.value().table_from_photo(seen_at(camera, p, 0), 0));
  const Vec2 a = points.at(points.size() / 2) - points.at(0),
             b = outline.points.at(points.size() / 2) - outline.points.at(0);
  const geometry::Rigid2 turn{std::atan2(a.y(), a.x()) - std::atan2(b.y(), b.x()), Vec2::Zero()};
  Polyline normals;
  for (const Vec2& n : outline.normals) normals.push_back(turn * n);
  return {shape_error(outline, points), view->shape_sigma(points, normals, 0, 0)};
}

/// Largest difference of two measurements of one panel, mm.
double apart(const Measured& a, const Measured& b) {
  std::vector<double> difference;
  for (std::size_t i = 0; i < a.error.size(); ++i) difference.push_back(a.error[i] - b.error[i]);
  return worst(difference);
}

TEST(LensProfiles, MakeAPanelBesideOneSheetSurerAndStayTrue) {
  std::vector<double> errors, sigmas, errors_without, sigmas_without;
  const calib::LensProfile profile = profile_of(usual_lens(), 1);
  for (std::uint64_t seed = 0; seed < 12; ++seed) {
    Random random(100 + seed);
    const TrueCamera camera =
        breathing(usual_lens(), {1080, random.uniform(5, 30), random.uniform(0, 360), 0, {60, 0}}, random);
    const std::vector<capture::Sighting> one = {noisy(camera, sheets_around(1), random, "one")};
    const Survey with = solve_survey(one, with_profile(profile)), without = solve_survey(one, bars_measured());
    ASSERT_EQ(with.profile_used, std::vector<bool>{true}) << seed;
    EXPECT_EQ(count_of(with.faults, "lens-profile-set-aside"), 0) << seed;
    const Measured m = measured(with.views[0], camera), n = measured(without.views[0], camera);
    errors.push_back(rms(m.error));
    sigmas.push_back(rms(m.sigma));
    errors_without.push_back(rms(n.error));
    sigmas_without.push_back(rms(n.sigma));
    EXPECT_LT(sigmas.back(), sigmas_without.back()) << seed;
  }
  fmt::print("one sheet, outline error {:.3f} mm (sigma {:.3f}) with a profile, {:.3f} (sigma {:.3f}) without\n",
             rms(errors), rms(sigmas), rms(errors_without), rms(sigmas_without));
  EXPECT_LT(rms(sigmas), 0.8 * rms(sigmas_without));
  EXPECT_LT(rms(errors), rms(errors_without));
  // Twelve draws of a few strong unknowns each: their rms lies within a third of its expectation.
  EXPECT_LT(rms(errors), 1.35 * rms(sigmas));
}

TEST(LensProfiles, OfAnotherZoomAreSetAsideAndChangeNothing) {
  Random random(5);
  calib::Lens zoomed = usual_lens();
  zoomed.focal_px *= 1.12;
  std::vector<TrueCamera> cameras;
  std::vector<capture::Sighting> sightings;
  for (int i = 0; i < 3; ++i) {
    cameras.push_back(breathing(zoomed, {1250, 15.0 + 5 * i, 110.0 * i, 0}, random));
    sightings.push_back(noisy(cameras.back(), sheets_around(4), random, fmt::format("p{}", i)));
  }
  const Survey with = solve_survey(sightings, with_profile(profile_of(usual_lens(), 1))),
               without = solve_survey(sightings, bars_measured());
  EXPECT_EQ(count_of(with.faults, "lens-profile-set-aside"), 1);
  EXPECT_EQ(with.profile_used, std::vector<bool>{false});
  EXPECT_EQ(with.lenses[0].focal_px, without.lenses[0].focal_px);
  for (std::size_t i = 0; i < cameras.size(); ++i)
    EXPECT_EQ(apart(measured(with.views[i], cameras[i]), measured(without.views[i], cameras[i])), 0) << i;
}

TEST(LensProfiles, OfAnotherDistortionAreSetAside) {
  Random random(6);
  calib::Lens other = usual_lens();
  other.k1 = -0.05;
  other.k2 = 0.04;
  std::vector<capture::Sighting> sightings;
  for (int i = 0; i < 4; ++i)
    sightings.push_back(noisy(breathing(other, {1050, 15.0 + 5 * i, 110.0 * i, 0}, random), sheets_around(4), random,
                              fmt::format("p{}", i)));
  const Survey survey = solve_survey(sightings, with_profile(profile_of(usual_lens(), 1)));
  EXPECT_EQ(count_of(survey.faults, "lens-profile-set-aside"), 1);
}

TEST(LensProfiles, OfAnotherMakeOrSizeAreUnusedAndChangeNothing) {
  Random random(7);
  const TrueCamera camera = breathing(usual_lens(), {1050, 20, 40, 0}, random);
  const std::vector<capture::Sighting> one = {noisy(camera, sheets_around(3), random, "one")};
  const Survey without = solve_survey(one, bars_measured());
  const calib::LensProfile same = profile_of(usual_lens(), 1);
  calib::LensProfile make = same, size = same, zoom = same, focal = same;
  make.make = "Imagined";
  size.lens.width = 2016, size.lens.height = 1512;
  zoom.digital_zoom = 2;
  focal.focal_35mm = 52;
  for (const calib::LensProfile& profile : {make, size, zoom, focal}) {
    const Survey with = solve_survey(one, with_profile(profile));
    EXPECT_EQ(count_of(with.faults, "lens-profile-unused"), 1);
    EXPECT_EQ(count_of(with.faults, "lens-profile-set-aside"), 0);
    EXPECT_EQ(apart(measured(with.views[0], camera), measured(without.views[0], camera)), 0);
  }
  EXPECT_EQ(count_of(solve_survey(one, with_profile(same)).faults, "lens-profile-unused"), 0);
}

/// Photos of one setup; the last is to be spoilt.
struct OneSetup {
  std::vector<TrueCamera> cameras;
  std::vector<std::vector<SheetPlace>> sheets;
  std::vector<capture::Sighting> sightings;

  explicit OneSetup(int photos) {
    Random random(21);
    for (int i = 0; i < photos; ++i) {
      cameras.push_back(breathing(usual_lens(), {1050, 8.0 + 4 * i, 80.0 * i, 0}, random));
      sheets.push_back(sheets_around(4));
    }
  }
  void photograph() {
    Random random(22);
    for (std::size_t i = 0; i < cameras.size(); ++i)
      sightings.push_back(noisy(cameras[i], sheets[i], random, fmt::format("p{}", i + 1)));
  }
};

/// The spoilt photo is told of and alone, the others come out as without it.
void expect_only_the_last_told(const OneSetup& setup) {
  const Survey all = solve_survey(setup.sightings, bars_measured()),
               others = solve_survey(std::span(setup.sightings).first(setup.sightings.size() - 1), bars_measured());
  EXPECT_EQ(photos_of(all.faults, "photo-disagrees"), std::vector<std::string>{setup.sightings.back().photo});
  EXPECT_EQ(count_of(others.faults, "photo-disagrees"), 0);
  // The prints' scale is still common to all; the bars hold it to 5e-6.
  constexpr double by_scale_mm = 0.005;
  for (std::size_t i = 0; i + 1 < setup.sightings.size(); ++i) {
    ASSERT_TRUE(all.views[i]) << i;
    EXPECT_LT(apart(measured(all.views[i], setup.cameras[i]), measured(others.views[i], setup.cameras[i])), by_scale_mm)
        << i;
  }
  EXPECT_TRUE(all.views.back()) << "it is still measured, by itself";
}

TEST(PhotoDisagrees, TellsNothingOfGoodPhotos) {
  OneSetup setup(4);
  setup.photograph();
  EXPECT_EQ(count_of(solve_survey(setup.sightings, bars_measured()).faults, "photo-disagrees"), 0);
}

TEST(PhotoDisagrees, TellsOfASheetMovedByFourMillimetres) {
  OneSetup setup(4);
  setup.sheets.back()[1].centre += Vec2(2.4, -3.2);
  setup.photograph();
  expect_only_the_last_told(setup);
}

TEST(PhotoDisagrees, TellsOfAnotherPhoneBehindTheSameExif) {
  OneSetup setup(4);
  calib::Lens& lens = setup.cameras.back().lens;
  lens.focal_px *= 1.05;
  lens.k1 = -0.06;
  lens.k2 = 0.05;
  setup.cameras.back().pose = pose_of({1150, 24, 200, 0});
  setup.photograph();
  expect_only_the_last_told(setup);
}

}  // namespace
}  // namespace chalkfold::survey
