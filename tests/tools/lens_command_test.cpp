// SPDX-License-Identifier: Apache-2.0
// `chalkfold lens` through the program, on rendered photographs of half a phone's resolution, and what its profile does for a run.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "calib/lens_profile.h"
#include "demo/scenes/scene_layout.h"
#include "tests/common/rendered_photo.h"

namespace chalkfold::tools {
namespace {

using Json = nlohmann::json;
using test::ProgramRun;
using testing::HasSubstr;
using testing::Not;

constexpr int photo_width_px = 2016;

/// Those of demo::lens_scenes that render_photos made.
std::vector<std::filesystem::path> good_photos() {
  std::vector<std::filesystem::path> photos;
  for (const char* name : {"lens-1", "lens-3", "lens-5", "lens-6", "lens-9", "lens-12"})
    photos.push_back(test::rendered_photo(name));
  return photos;
}

ProgramRun lens(const std::vector<std::filesystem::path>& photos, const std::filesystem::path& profile,
                const std::vector<std::string>& more = {}) {
  std::vector<std::string> words = {CHALKFOLD_PROGRAM, "lens"};
  for (const auto& photo : photos) words.push_back(photo.string());
  for (const std::string& word : {std::string("--long-bar-mm"), std::string("240"), std::string("--short-bar-mm"),
                                  std::string("170"), std::string("--out"), profile.string()})
    words.push_back(word);
  words.insert(words.end(), more.begin(), more.end());
  return test::run_program(words);
}

/// A photo's copy whose EXIF names another model, as long a word.
std::filesystem::path by_another_phone(const std::filesystem::path& photo, const std::filesystem::path& folder) {
  std::string bytes = test::read_whole(photo);
  const std::string model("P1\0", 3);
  const auto at = bytes.find(model);
  EXPECT_LT(at, 1000U) << "the model in EXIF";
  bytes.replace(at, 2, "P2");
  const auto copy = folder / ("other-" + photo.filename().string());
  test::write_whole(copy, bytes);
  return copy;
}

TEST(LensCommand, WritesAProfileThatTellsTheLens) {
  const test::TemporaryFolder folder;
  const ProgramRun run = lens(good_photos(), folder / "p.json");
  ASSERT_EQ(run.exit, 0) << run.err;
  EXPECT_THAT(run.out, HasSubstr("Example P1"));
  EXPECT_THAT(run.out, HasSubstr("6 photos"));
  const calib::LensProfile found = calib::read_lens_profile(test::read_whole(folder / "p.json"), "p.json");
  const calib::Lens truth = demo::phone_lens(photo_width_px);
  EXPECT_EQ(found.make, "Example");
  EXPECT_EQ(found.model, "P1");
  EXPECT_EQ(found.photos, 6);
  const double sigma_px = std::sqrt(found.covariance(0, 0));
  // Six photos of half resolution, and the profile says itself how well it knows: U is two sigmas.
  EXPECT_LE(std::abs(found.lens.focal_px - truth.focal_px), 2 * sigma_px);
  EXPECT_LT(sigma_px, 0.005 * truth.focal_px) << "a profile that says nothing proves nothing";
  const double corner = 0.5 * std::hypot(truth.width, truth.height) / truth.focal_px;
  EXPECT_LE(std::abs(calib::radial_distortion_px(found.lens, corner) - calib::radial_distortion_px(truth, corner)),
            2 * calib::corner_distortion_sigma_px(found));
  // The same photos again: the same bytes.
  ASSERT_EQ(lens(good_photos(), folder / "again.json", {"--quiet"}).exit, 0);
  EXPECT_EQ(test::read_whole(folder / "p.json"), test::read_whole(folder / "again.json"));
}

TEST(LensCommand, RefusesOnePhoto) {
  const test::TemporaryFolder folder;
  const ProgramRun run = lens({good_photos()[0]}, folder / "p.json");
  EXPECT_EQ(run.exit, 1);
  EXPECT_THAT(run.err, HasSubstr("at least 4"));
  EXPECT_THAT(run.err, HasSubstr("Take twelve photos"));
  EXPECT_FALSE(std::filesystem::exists(folder / "p.json"));
}

TEST(LensCommand, AsksForTiltWhereAllLookStraightDown) {
  const test::TemporaryFolder folder;
  std::vector<std::filesystem::path> photos;
  for (const char* name : {"straight-1", "straight-2", "straight-3", "straight-4"})
    photos.push_back(test::rendered_photo(name));
  const ProgramRun run = lens(photos, folder / "p.json");
  EXPECT_EQ(run.exit, 1);
  EXPECT_FALSE(std::filesystem::exists(folder / "p.json"));
  EXPECT_THAT(run.err, HasSubstr("the photos tell the focal length only to"));
  EXPECT_THAT(run.err, HasSubstr("leaning"));
}

TEST(LensCommand, RefusesPhotosOfTwoPhones) {
  const test::TemporaryFolder folder;
  auto photos = good_photos();
  for (std::size_t i = 0; i < 2; ++i) photos[i] = by_another_phone(photos[i], folder.path());
  const ProgramRun run = lens(photos, folder / "p.json");
  EXPECT_EQ(run.exit, 1);
  EXPECT_THAT(run.err, HasSubstr("2 phones"));
  EXPECT_FALSE(std::filesystem::exists(folder / "p.json"));
}

TEST(LensCommand, NoneOfThePhotosThereIsAnError) {
  const test::TemporaryFolder folder;
  EXPECT_EQ(lens({folder / "nowhere.jpg"}, folder / "p.json").exit, 3);
}

/// Median U of the only panel's outline, mm.
double U_of(const std::filesystem::path& out) {
  return Json::parse(test::read_whole(out / "measured/one-sheet.json")).at("U_median").get<double>();
}

TEST(LensProfileInARun, MakesUSmallerFromTheCommandLineAndFromAJobAlike) {
  const test::TemporaryFolder folder;
  ASSERT_EQ(lens(good_photos(), folder / "p.json", {"--quiet"}).exit, 0);
  const std::vector<std::filesystem::path> photo = {test::rendered_photo("one-sheet")};
  ASSERT_EQ(test::measure(photo, folder / "without").exit, 0);
  const ProgramRun with = test::measure(photo, folder / "with", {"--lens", (folder / "p.json").string()});
  ASSERT_EQ(with.exit, 0) << with.err;
  EXPECT_THAT(with.err, Not(HasSubstr("lens profile")));
  std::printf("U %.3f mm with the profile, %.3f without\n", U_of(folder / "with"), U_of(folder / "without"));
  EXPECT_LT(U_of(folder / "with"), 0.9 * U_of(folder / "without"));
  test::write_whole(folder / "job.json", Json{{"job", "one sheet"},
                                              {"print", {{"long_bar_mm", 240}, {"short_bar_mm", 170}}},
                                              {"lens", "p.json"},
                                              {"defaults", {{"thickness_mm", 1.2}}},
                                              {"photos", {photo[0].string()}}}
                                             .dump());
  const ProgramRun job = test::run_program(
      {CHALKFOLD_PROGRAM, "run", (folder / "job.json").string(), "--quiet", "--out", (folder / "by-job").string()});
  ASSERT_EQ(job.exit, 0) << job.err;
  EXPECT_EQ(U_of(folder / "by-job"), U_of(folder / "with"));
}

TEST(LensProfileInARun, AFileThatIsNoneIsAnErrorAndAnotherPhonesIsSaid) {
  const test::TemporaryFolder folder;
  const std::vector<std::filesystem::path> photo = {test::rendered_photo("one-sheet")};
  test::write_whole(folder / "no.json", "{\"schema\": \"something else\"}");
  const ProgramRun none = test::measure(photo, folder / "out", {"--lens", (folder / "no.json").string()});
  EXPECT_EQ(none.exit, 2);
  EXPECT_THAT(none.err, HasSubstr("no.json"));
  EXPECT_THAT(none.err, HasSubstr("chalkfold lens"));
  ASSERT_EQ(lens(good_photos(), folder / "p.json", {"--quiet"}).exit, 0);
  std::string text = test::read_whole(folder / "p.json");
  text.replace(text.find("\"P1\""), 4, "\"P2\"");
  test::write_whole(folder / "p2.json", text);
  ASSERT_EQ(test::measure(photo, folder / "other", {"--lens", (folder / "p2.json").string()}).exit, 0);
  EXPECT_THAT(test::read_whole(folder / "other/results.json"), HasSubstr("lens-profile-unused"));
}

}  // namespace
}  // namespace chalkfold::tools
