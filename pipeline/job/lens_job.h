// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <optional>
#include <vector>

#include "calib/lens_profile.h"
#include "pipeline/capture/photo.h"
#include "pipeline/capture/sighting.h"
#include "pipeline/job/stages/progress.h"
#include "pipeline/survey/survey.h"

namespace chalkfold::job {

/// How a lens profile is made, and when it is good enough. Stages in running order.
struct LensOptions {
  capture::LoadOptions load;
  capture::SightingOptions sighting;
  survey::SurveyOptions survey;
  /// that the sheets were found in
  std::size_t least_photos = 4;
  /// relative; above, the profile says less than a guess from EXIF and the phone's own breathing
  double most_focal_sigma = 0.01;
  /// relative; above: a warning
  double weak_focal_sigma = 0.005;
  /// of the distortion at the picture's corner
  double most_corner_sigma_px = 10;
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const LensOptions& options);

struct LensResult {
  /// none when there is a refusal among the faults
  std::optional<calib::LensProfile> profile;
  /// of photos, and lens-few-photos, lens-several-phones, lens-not-told (refusals), lens-weak
  Faults faults;
  /// photos
  int used = 0;
};

/// A lens profile from photos of the sheets by one phone, by the same survey that jobs are solved with; panels may lie among them. Throws FileError when none of the files is there.
LensResult lens_from_photos(const std::vector<std::filesystem::path>& photos, const LensOptions& options,
                            Progress& progress);

}  // namespace chalkfold::job
