// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/lens_job.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <utility>

#include "pipeline/common/check_option.h"
#include "pipeline/common/error.h"
#include "pipeline/common/utf8.h"

namespace chalkfold::job {
namespace {

constexpr const char* how_to_take_them =
    "Lay four sheets close together so that they fill the picture. Take twelve photos: from straight above, and "
    "leaning 20 "
    "to 30 degrees to each side, some with the phone turned by a quarter, the sheets reaching into the picture's "
    "corners; no zoom.";

Fault refusal(const char* code, std::string seen) {
  return {code, Severity::refusal, std::move(seen), how_to_take_them, {}, {}};
}

/// What every photo shows of the sheets; unusable ones tell why in `faults`.
std::vector<capture::Sighting> sight_all(const std::vector<std::filesystem::path>& photos, const LensOptions& options,
                                         Progress& progress, Faults& faults) {
  std::vector<capture::Sighting> sightings;
  std::set<std::string> known;
  progress.begin("reading photos", photos.size());
  for (const std::filesystem::path& file : photos) {
    if (progress.stop_wanted()) {
      progress.end();
      throw Interrupted("stopped: no lens profile was written.");
    }
    capture::LoadResult loaded = capture::load_photo(file, options.load);
    faults.insert(faults.end(), loaded.faults.begin(), loaded.faults.end());
    if (loaded.photo && !known.insert(loaded.photo->sha256).second) {
      faults.push_back({"photo-given-twice",
                        Severity::note,
                        "it is the same picture as an earlier one",
                        "Nothing: it was counted once.",
                        plain_text(file.filename().string()),
                        {}});
    } else if (loaded.photo) {
      capture::Sighting sighting = capture::find_sheets(*loaded.photo, options.sighting);
      // One sheet is little for a panel, but says as much of the lens as any.
      for (const Fault& fault : sighting.faults)
        if (fault.code != "one-sheet") faults.push_back(fault);
      if (!has_refusal(sighting.faults)) sightings.push_back(std::move(sighting));
    }
    progress.advance(plain_text(file.filename().string()));
  }
  progress.end();
  return sightings;
}

/// A photo that is of no use here is left out; the others may do.
void soften(Faults& faults) {
  for (Fault& fault : faults)
    if (!fault.photo.empty() && fault.severity == Severity::refusal) fault.severity = Severity::warning;
}

/// Phones that more than a photo by itself is of.
std::size_t phones_of(const survey::Survey& survey) {
  const auto alone = std::count_if(survey.faults.begin(), survey.faults.end(),
                                   [](const Fault& f) { return f.code == "photo-disagrees"; });
  return survey.lenses.size() - static_cast<std::size_t>(alone);
}

/// The lens that most photos share, and how many do.
std::pair<std::size_t, int> most_used_lens(const survey::Survey& survey) {
  std::vector<int> uses(survey.lenses.size(), 0);
  for (std::size_t i = 0; i < survey.views.size(); ++i)
    if (survey.views[i]) ++uses.at(static_cast<std::size_t>(survey.phone_of_sighting.at(i)));
  const auto best = std::max_element(uses.begin(), uses.end());
  return {static_cast<std::size_t>(best - uses.begin()), *best};
}

calib::LensProfile profile_of(const survey::Survey& survey, const std::vector<capture::Sighting>& sightings,
                              std::size_t lens, int photos) {
  const auto first =
      std::find(survey.phone_of_sighting.begin(), survey.phone_of_sighting.end(), static_cast<int>(lens));
  const capture::PhotoExif& exif =
      sightings.at(static_cast<std::size_t>(first - survey.phone_of_sighting.begin())).exif;
  return {exif.make,
          exif.model,
          exif.focal_mm,
          exif.focal_35mm,
          exif.digital_zoom,
          survey.lenses.at(lens),
          survey.lens_covariances.at(lens),
          photos,
          survey.reprojection_rms_px};
}

/// How surely the photos tell the lens: a refusal, a warning, or nothing to say.
void judge(const calib::LensProfile& profile, const LensOptions& options, Faults& faults) {
  const double focal_sigma = std::sqrt(profile.covariance(0, 0)) / profile.lens.focal_px,
               corner = calib::corner_distortion_sigma_px(profile);
  if (focal_sigma > options.most_focal_sigma || corner > options.most_corner_sigma_px)
    faults.push_back(
        refusal("lens-not-told", fmt::format("the photos tell the focal length only to {:.2f} % and the distortion at "
                                             "the picture's corner to {:.1f} px (1 sigma), which is worse than a guess",
                                             100 * focal_sigma, corner)));
  else if (focal_sigma > options.weak_focal_sigma)
    faults.push_back({"lens-weak",
                      Severity::warning,
                      fmt::format("the photos tell the focal length only to {:.2f} % (1 sigma)", 100 * focal_sigma),
                      how_to_take_them,
                      {},
                      {}});
}

}  // namespace

void check(const LensOptions& o) {
  check(o.load);
  check(o.sighting);
  check(o.survey);
  check_option("least photos of a lens profile", static_cast<double>(o.least_photos), 1, 1000);
  check_option("most sigma of the focal length, as a share,", o.most_focal_sigma, 0, 1);
  check_option("sigma of a weak focal length, as a share,", o.weak_focal_sigma, 0, 1);
  check_option("most sigma at the picture's corner, px,", o.most_corner_sigma_px, 0, 10000);
}

LensResult lens_from_photos(const std::vector<std::filesystem::path>& photos, const LensOptions& options,
                            Progress& progress) {
  check(options);
  const bool any = std::any_of(photos.begin(), photos.end(), [](const auto& file) {
    std::error_code none;
    return std::filesystem::is_regular_file(file, none);
  });
  if (!any) throw FileError("none of the photos is there: check the names and the folder");
  LensResult result;
  const std::vector<capture::Sighting> sightings = sight_all(photos, options, progress, result.faults);
  soften(result.faults);
  if (sightings.size() < options.least_photos) {
    result.faults.push_back(
        refusal("lens-few-photos", fmt::format("the sheets were found in {} photos; at least {} are needed",
                                               sightings.size(), options.least_photos)));
    return result;
  }
  const survey::Survey survey = survey::solve_survey(sightings, options.survey);
  for (const Fault& fault : survey.faults)
    if (fault.code != "strong-tilt" && fault.code != "print-scale-unmeasured") result.faults.push_back(fault);
  soften(result.faults);
  if (has_refusal(result.faults)) return result;
  if (const std::size_t phones = phones_of(survey); phones != 1) {
    result.faults.push_back(refusal(
        "lens-several-phones",
        fmt::format("the photos are of {} phones or lenses (make, model, size, focal length or zoom differ)", phones)));
    return result;
  }
  const auto [lens, used] = most_used_lens(survey);
  result.used = used;
  if (static_cast<std::size_t>(used) < options.least_photos) {
    result.faults.push_back(refusal(
        "lens-few-photos",
        fmt::format("only {} photos could be used together; at least {} are needed", used, options.least_photos)));
    return result;
  }
  const calib::LensProfile profile = profile_of(survey, sightings, lens, used);
  judge(profile, options, result.faults);
  if (!has_refusal(result.faults)) result.profile = profile;
  return result;
}

}  // namespace chalkfold::job
