// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "calib/lens_profile.h"
#include "pipeline/capture/sighting.h"
#include "pipeline/common/fault.h"
#include "pipeline/survey/table_view.h"

namespace chalkfold {

/// A distance measured with a tape between the centre crosses of two sheets of one setup.
struct TapeDistance {
  int sheet_a = 0, sheet_b = 0;
  double mm = 0;
  double sigma_mm = 0.5;
};

/// What the user measured on the printed check bars. One unset: it is taken to be off as the other is. Both unset: the sheet is taken as true, and its
/// common scale's doubt enters every U in full. Either way a fault says so.
struct PrintCheck {
  std::optional<double> long_bar_mm, short_bar_mm;
  double sigma_mm = 0.2;
  double unmeasured_scale_sigma =
      0.003;  ///< relative, common to both axes: what printing "to fit" by a hair or paper in damp air does
  double unmeasured_ratio_sigma =
      0.001;  ///< relative, x against y: slip of the paper feed, a millimetre in a metre (common practice, no source)
};

/// Prior of the lens. Focal length from EXIF's 35 mm equivalent unless a lens is given.
struct LensPrior {
  std::optional<LensProfile> profile;     ///< of the phones that it fits; its own covariance is the prior
  std::optional<Lens> lens;               ///< a profile, sensor frame
  double focal_sigma = 0.03;              ///< relative, of a focal length taken from EXIF
  double focal_unknown_sigma = 0.15;      ///< relative, without EXIF (then 26 mm equivalent is assumed)
  double centre_sigma = 0.01;             ///< relative to the diagonal
  double distortion_mid_sigma = 0.015;    ///< relative radial displacement at half the half-diagonal
  double distortion_corner_sigma = 0.03;  ///< the same at the photo's corner
  double distortion_term_sigma = 0.08;    ///< what each of k1, k2, k3 may do at the photo's corner
  double tangential_sigma = 0.0005;
  double breathing_sigma = 0.01;         ///< relative focal change from photo to photo
  double stabiliser_sigma_px = 10;       ///< principal point shift from photo to photo
  double profile_focal_sigma = 0.003;    ///< relative, of a profile's focal length
  double profile_centre_sigma_px = 5;    ///< of a profile's centre
  double profile_corner_sigma = 0.0005;  ///< relative radial displacement at the corner that a profile may be off
};

/// What the user says of a photo; empty: it is found out.
struct PhotoSaid {
  std::string phone;  ///< its name, of any choice; goes before EXIF's make and model
  std::string setup;  ///< photos of one name were taken without a sheet being moved in between
};

struct SurveyOptions {
  std::vector<PhotoSaid> said;  ///< one per sighting, or empty
  PrintCheck print;
  LensPrior lens;
  std::vector<TapeDistance> tape;
  double corner_sigma_floor_px = 0.02;  ///< no corner is believed better than this
  double robust_sigmas = 3.0;           ///< width of the Huber loss, in sigmas
  double drop_sigmas = 6.0;     ///< corners further off than this after the first solution are dropped and counted
  double strong_tilt_deg = 35;  ///< above: warning strong-tilt
};

/// The solved job: a view per sighting that could be used, in the order given.
struct Survey {
  std::vector<std::optional<TableView>> views;  ///< one per sighting
  std::vector<int> joint_of_sighting;           ///< where in `joint` a sighting's parameters begin; -1: nowhere
  Eigen::MatrixXd
      joint;  ///< covariance of all views' parameters (TableView::parameters each), what is uncertain in common included
  std::vector<Lens> lenses;                                   ///< one per phone
  std::vector<Eigen::Matrix<double, 8, 8>> lens_covariances;  ///< of each, in LensProfile's order
  std::vector<int> phone_of_sighting;
  std::vector<bool> profile_used;  ///< of each phone
  std::vector<int> setup_of_sighting;
  double print_scale_x = 1, print_scale_y = 1;
  double print_scale_sigma =
      0;  ///< relative, of the less certain axis, after all that was measured is in: bars, tapes, the photos
  double reprojection_rms_px = 0;
  Faults faults;
};

/// Solves cameras, lens, sheet places and print scale of all sightings together (bundle adjustment: B. Triggs et al., "Bundle adjustment -
/// a modern synthesis", 2000; plane-based start: Z. Zhang, "A flexible new technique for camera calibration", 2000).
/// Sightings with a refusal are left out. A profile is tried on every phone of its make, model, size and focal length, and set aside where
/// the corners themselves speak against it. Fault codes: print-scale-unmeasured, strong-tilt, survey-failed, tape-not-used, photo-disagrees, lens-profile-set-aside,
/// lens-profile-unused, setup-not-joined.
Survey solve_survey(std::span<const Sighting> sightings, const SurveyOptions& options = {});

/// Of `survey.joint` the rows and columns of these sightings, in this order. Precondition: each has a view.
Eigen::MatrixXd joint_covariance(const Survey& survey, std::span<const std::size_t> sightings);

}  // namespace chalkfold
