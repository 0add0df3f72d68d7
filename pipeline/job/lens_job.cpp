// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/lens_job.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

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

}  // namespace

LensResult lens_from_photos(const std::vector<std::filesystem::path>& photos, const LensOptions& options,
                            Progress& progress) {
  const bool any = std::any_of(photos.begin(), photos.end(), [](const auto& file) {
    std::error_code none;
    return std::filesystem::is_regular_file(file, none);
  });
  if (!any) throw FileError("none of the photos is there: check the names and the folder");
  LensResult result;
  const std::vector<capture::Sighting> sightings = sight_all(photos, options, progress, result.faults);
  // A photo that is of no use here is left out; the others may do.
  const auto soften = [&] {
    for (Fault& fault : result.faults)
      if (!fault.photo.empty() && fault.severity == Severity::refusal) fault.severity = Severity::warning;
  };
  soften();
  if (sightings.size() < options.least_photos) {
    result.faults.push_back(
        refusal("lens-few-photos", fmt::format("the sheets were found in {} photos; at least {} are needed",
                                               sightings.size(), options.least_photos)));
    return result;
  }
  const survey::Survey survey = survey::solve_survey(sightings, options.survey);
  for (const Fault& fault : survey.faults)
    if (fault.code != "strong-tilt" && fault.code != "print-scale-unmeasured") result.faults.push_back(fault);
  soften();
  if (has_refusal(result.faults)) return result;
  const auto alone = std::count_if(survey.faults.begin(), survey.faults.end(),
                                   [](const Fault& f) { return f.code == "photo-disagrees"; });
  if (survey.lenses.size() != 1 + static_cast<std::size_t>(alone)) {
    result.faults.push_back(
        refusal("lens-several-phones",
                fmt::format("the photos are of {} phones or lenses (make, model, size, focal length or zoom differ)",
                            survey.lenses.size() - static_cast<std::size_t>(alone))));
    return result;
  }
  // The lens that most photos share.
  std::vector<int> uses(survey.lenses.size(), 0);
  for (std::size_t i = 0; i < sightings.size(); ++i)
    if (survey.views[i]) ++uses[static_cast<std::size_t>(survey.phone_of_sighting[i])];
  const auto best = static_cast<std::size_t>(std::max_element(uses.begin(), uses.end()) - uses.begin());
  const auto first =
      std::find(survey.phone_of_sighting.begin(), survey.phone_of_sighting.end(), static_cast<int>(best));
  const capture::PhotoExif& exif = sightings[static_cast<std::size_t>(first - survey.phone_of_sighting.begin())].exif;
  result.used = uses[best];
  if (static_cast<std::size_t>(result.used) < options.least_photos) {
    result.faults.push_back(
        refusal("lens-few-photos", fmt::format("only {} photos could be used together; at least {} are needed",
                                               result.used, options.least_photos)));
    return result;
  }
  calib::LensProfile profile{exif.make,
                             exif.model,
                             exif.focal_mm,
                             exif.focal_35mm,
                             exif.digital_zoom,
                             survey.lenses[best],
                             survey.lens_covariances[best],
                             result.used,
                             survey.reprojection_rms_px};
  const double focal_sigma = std::sqrt(profile.covariance(0, 0)) / profile.lens.focal_px,
               corner = calib::corner_distortion_sigma_px(profile);
  if (focal_sigma > options.most_focal_sigma || corner > options.most_corner_sigma_px) {
    result.faults.push_back(
        refusal("lens-not-told", fmt::format("the photos tell the focal length only to {:.2f} % and the distortion at "
                                             "the picture's corner to {:.1f} px (1 sigma), which is worse than a guess",
                                             100 * focal_sigma, corner)));
    return result;
  }
  if (focal_sigma > options.weak_focal_sigma)
    result.faults.push_back(
        {"lens-weak",
         Severity::warning,
         fmt::format("the photos tell the focal length only to {:.2f} % (1 sigma)", 100 * focal_sigma),
         how_to_take_them,
         {},
         {}});
  result.profile = std::move(profile);
  return result;
}

}  // namespace chalkfold::job
