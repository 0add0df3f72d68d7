// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <optional>
#include <vector>

#include "calib/lens_profile.h"
#include "pipeline/capture/photo.h"
#include "pipeline/capture/sighting.h"
#include "pipeline/job/progress.h"
#include "pipeline/survey/survey.h"

namespace chalkfold {

struct LensOptions {
  LoadOptions load;
  SightingOptions sighting;
  SurveyOptions survey;
  std::size_t least_photos = 4;  ///< that the sheets were found in
  double most_focal_sigma =
      0.01;  ///< relative; above, the profile says less than a guess from EXIF and the phone's own breathing
  double weak_focal_sigma = 0.005;   ///< relative; above: a warning
  double most_corner_sigma_px = 10;  ///< of the distortion at the picture's corner
};

struct LensResult {
  std::optional<LensProfile> profile;  ///< none when there is a refusal among the faults
  Faults faults;  ///< of photos, and lens-few-photos, lens-several-phones, lens-not-told (refusals), lens-weak
  int used = 0;   ///< photos
};

/// A lens profile from photos of the sheets by one phone, by the same survey that jobs are solved with; panels may lie among them. Throws FileError when none of the files is there.
LensResult lens_from_photos(const std::vector<std::filesystem::path>& photos, const LensOptions& options,
                            Progress& progress);

}  // namespace chalkfold
