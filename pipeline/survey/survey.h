// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "calib/lens_profile.h"
#include "pipeline/capture/sighting.h"
#include "pipeline/common/fault.h"
#include "pipeline/survey/survey_options.h"
#include "pipeline/survey/survey_result.h"
#include "pipeline/survey/table_view.h"

namespace chalkfold::survey {

/// Solves cameras, lens, sheet places and print scale of all sightings together (bundle adjustment: B. Triggs et al., "Bundle adjustment -
/// a modern synthesis", 2000; plane-based start: Z. Zhang, "A flexible new technique for camera calibration", 2000).
/// Sightings with a refusal are left out. A profile is tried on every phone of its make, model, size and focal length, and set aside where
/// the corners themselves speak against it. Fault codes: print-scale-unmeasured, strong-tilt, survey-failed, tape-not-used, photo-disagrees, lens-profile-set-aside,
/// lens-profile-unused, setup-not-joined. Throws UsageError as check() does. Precondition: `said` of the options is empty or says
/// something of every sighting.
Survey solve_survey(std::span<const capture::Sighting> sightings, const SurveyOptions& options = {});

/// Of `survey.joint` the rows and columns of these sightings, in this order. Precondition: each has a view.
Eigen::MatrixXd joint_covariance(const Survey& survey, std::span<const std::size_t> sightings);

}  // namespace chalkfold::survey
