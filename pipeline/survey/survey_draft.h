// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <map>
#include <set>
#include <span>
#include <vector>

#include "pipeline/capture/sighting.h"
#include "pipeline/survey/bundle.h"
#include "pipeline/survey/sensor_frame.h"
#include "pipeline/survey/survey_options.h"
#include "pipeline/survey/survey_result.h"

namespace chalkfold::survey {

/// The survey under construction: the bundle, and which sighting and sheet each part belongs to.
struct Draft {
  Bundle bundle;
  std::vector<std::size_t> sighting_of_photo;
  /// -1 when left out
  std::vector<int> photo_of_sighting;
  /// per photo: sheet number -> board index
  std::vector<std::map<int, int>> board_of_sheet;
  /// per photo
  std::vector<int> dropped;
};

SensorFrame frame_of(const capture::Sighting& sighting);

/// What a draft is to do other than by default.
struct DraftChoices {
  /// sightings that share neither lens nor setup with others
  std::set<std::size_t> alone;
  /// of each phone; phones beyond its end: no
  std::vector<bool> with_profile;
};

/// A bundle near enough to be solved: every usable sighting's camera and sheets placed by themselves, lenses by EXIF or profile, priors and
/// observations in. Fills survey.phone_of_sighting.
Draft start_draft(std::span<const capture::Sighting> sightings, const SurveyOptions& options,
                  const DraftChoices& choices, Survey& survey);

/// Tells of check bars that were not measured.
void add_print_faults(const PrintCheck& print, Faults& faults);

/// Whether a profile is of the phone that took a photo, as far as EXIF and size tell.
bool profile_fits(const calib::LensProfile& profile, const capture::Sighting& sighting);

/// Which phone took each usable sighting, -1 otherwise, and a sighting of each phone to begin its lens with: one whose EXIF tells the focal length, if any
/// does. Photos of one make, model, size, focal length and zoom are of one phone. A phone's name goes before make and model; of a photo that is
/// said to be of a phone and has no focal length, it is the phone's lens if the others show just one of that size.
std::vector<int> group_phones(std::span<const capture::Sighting> sightings, std::span<const PhotoSaid> said,
                              const std::set<std::size_t>& alone, std::vector<std::size_t>& begin_with);

/// A sighting that takes part in the survey.
bool usable(const capture::Sighting& sighting);

/// EXIF writes 0 or 1 for no digital zoom; hundredths.
long zoom_key(double digital_zoom);

/// Lets photos share the sheets' places where at least two common sheets lie alike: one setup. Of photos that are said to be of one setup, one common
/// sheet will do; those said to be of two are kept apart. True when any were joined. Photos `alone` are left so. `said`: one per sighting, or empty.
bool join_setups(Draft& draft, const std::set<std::size_t>& alone, std::span<const PhotoSaid> said);

/// Tells of photos that are said to be of one setup and could not be joined: setup-not-joined.
Faults setup_faults(const Draft& draft, std::span<const capture::Sighting> sightings,
                    const std::set<std::size_t>& alone, std::span<const PhotoSaid> said);

}  // namespace chalkfold::survey
