// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "calib/lens_profile.h"

namespace chalkfold::survey {

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
  /// relative, common to both axes: what printing "to fit" by a hair or paper in damp air does
  double unmeasured_scale_sigma = 0.003;
  /// relative, x against y: slip of the paper feed, a millimetre in a metre (common practice, no source)
  double unmeasured_ratio_sigma = 0.001;
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const TapeDistance& tape);
void check(const PrintCheck& print);

/// Prior of the lens. Focal length from EXIF's 35 mm equivalent unless a lens is given.
struct LensPrior {
  /// of the phones that it fits; its own covariance is the prior
  std::optional<calib::LensProfile> profile;
  /// a profile, sensor frame
  std::optional<calib::Lens> lens;
  /// relative, of a focal length taken from EXIF
  double focal_sigma = 0.03;
  /// relative, without EXIF (then 26 mm equivalent is assumed)
  double focal_unknown_sigma = 0.15;
  /// relative to the diagonal
  double centre_sigma = 0.01;
  /// relative radial displacement at half the half-diagonal
  double distortion_mid_sigma = 0.015;
  /// the same at the photo's corner
  double distortion_corner_sigma = 0.03;
  /// what each of k1, k2, k3 may do at the photo's corner
  double distortion_term_sigma = 0.08;
  double tangential_sigma = 0.0005;
  /// relative focal change from photo to photo
  double breathing_sigma = 0.01;
  /// principal point shift from photo to photo
  double stabiliser_sigma_px = 10;
  /// relative, of a profile's focal length
  double profile_focal_sigma = 0.003;
  /// of a profile's centre
  double profile_centre_sigma_px = 5;
  /// relative radial displacement at the corner that a profile may be off
  double profile_corner_sigma = 0.0005;
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const LensPrior& options);

/// What the user says of a photo; empty: it is found out.
struct PhotoSaid {
  /// its name, of any choice; goes before EXIF's make and model
  std::string phone;
  /// photos of one name were taken without a sheet being moved in between
  std::string setup;
};

/// What is known beside the photos, and how far corners are believed.
struct SurveyOptions {
  /// one per sighting, or empty
  std::vector<PhotoSaid> said;
  PrintCheck print;
  LensPrior lens;
  std::vector<TapeDistance> tape;
  /// no corner is believed better than this
  double corner_sigma_floor_px = 0.02;
  /// width of the Huber loss, in sigmas; 0: plain least squares
  double robust_sigmas = 3.0;
  /// corners further off than this after the first solution are dropped and counted
  double drop_sigmas = 6.0;
  /// above: warning strong-tilt
  double strong_tilt_deg = 35;
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const SurveyOptions& options);

}  // namespace chalkfold::survey
