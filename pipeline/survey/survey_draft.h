// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <map>
#include <set>
#include <span>
#include <vector>

#include "pipeline/survey/bundle.h"
#include "pipeline/survey/sensor_frame.h"
#include "pipeline/survey/survey.h"

namespace chalkfold {

/// The survey under construction: the bundle, and which sighting and sheet each part belongs to.
struct Draft {
  Bundle bundle;
  std::vector<std::size_t> sighting_of_photo;
  std::vector<int> photo_of_sighting;              ///< -1 when left out
  std::vector<std::map<int, int>> board_of_sheet;  ///< per photo: sheet number -> board index
  std::vector<int> dropped;                        ///< per photo
};

SensorFrame frame_of(const Sighting& sighting);

/// What a draft is to do other than by default.
struct DraftChoices {
  std::set<std::size_t> alone;     ///< sightings that share neither lens nor setup with others
  std::vector<bool> with_profile;  ///< of each phone; phones beyond its end: no
};

/// A bundle near enough to be solved: every usable sighting's camera and sheets placed by themselves, lenses by EXIF or profile, priors and
/// observations in. Fills survey.phone_of_sighting.
Draft start_draft(std::span<const Sighting> sightings, const SurveyOptions& options, const DraftChoices& choices,
                  Survey& survey);

/// Tells of check bars that were not measured.
void add_print_faults(const PrintCheck& print, Faults& faults);

/// Whether a profile is of the phone that took a photo, as far as EXIF and size tell.
bool profile_fits(const LensProfile& profile, const Sighting& sighting);

/// Lets photos share the sheets' places where at least two common sheets lie alike: one setup. True when any were joined. Photos `alone` are left so.
bool join_setups(Draft& draft, const std::set<std::size_t>& alone = {});

}  // namespace chalkfold
