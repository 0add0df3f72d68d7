// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "calib/lens.h"
#include "pipeline/capture/sighting.h"
#include "pipeline/survey/survey.h"
#include "pipeline/survey/table_view.h"

namespace chalkfold::survey {

// Invented phones above invented sheets, with the truth kept beside what they see. Noise is a separate step.

/// Own generator, the same numbers on every machine (G. Steele et al., "Fast splittable pseudorandom number
/// generators", 2014): the standard library's distributions differ from one library to the next.
class Random {
 public:
  explicit Random(std::uint64_t seed) : state_(seed) {}
  double uniform(double low, double high);
  /// by the polar form of G. Box and M. Muller, 1958
  double normal(double sigma = 1);

 private:
  std::uint64_t next();
  std::uint64_t state_;
};

/// A photo to be: where the phone was and what its lens did just then.
struct TrueCamera {
  /// of this photo (breathing and stabiliser in), sensor frame
  calib::Lens lens;
  /// sensor frame
  calib::Pose pose;
  /// EXIF
  int orientation = 1;
};

/// The phone the tests use unless they say otherwise: 12 Mpx, 26 mm equivalent, mild distortion.
calib::Lens usual_lens();

/// How the phone is held over the table.
struct Held {
  /// mm, lens above the table
  double height = 1050;
  /// of the optical axis against straight down
  double tilt_deg = 0;
  /// towards which side of the table the phone leans, counter-clockwise from +x
  double heading_deg = 0;
  /// turn about the optical axis; 0: the sensor's up is the table's +y
  double roll_deg = 0;
  /// table point in the middle of the picture
  Vec2 aim = Vec2::Zero();
};

calib::Pose pose_of(const Held& held);

/// Sheets beside a panel of 700 x 600 mm (x, y) about the origin: 1 beside, 2 opposite, 3 around, 4 at the corners.
std::vector<SheetPlace> sheets_around(int count);

/// The panel's outline (corners rounded with 40 mm) about every 20 mm, counter-clockwise, with outward normals.
struct TrueOutline {
  Polyline points, normals;
};
TrueOutline panel_outline();

/// What the camera sees of the sheets: exact corners inside the frame, said to be good to sigma_px.
capture::Sighting sight(const TrueCamera& camera, const std::vector<SheetPlace>& sheets, double sigma_px,
                        const Vec2& print_scale = Vec2::Ones());

/// Moves every corner by Gaussian noise of sigma_px on each axis.
void add_noise(capture::Sighting& sighting, double sigma_px, Random& random);

/// Photo px (upright) of a table point at a height.
Vec2 seen_at(const TrueCamera& camera, const Vec2& at_in_table, double height);

/// Displacement of each outline point along its normal, mm, after the best rigid motion of `measured` onto the truth
/// (least squares of just those displacements) is taken off.
std::vector<double> shape_error(const TrueOutline& truth, const Polyline& measured);

/// Options under which corners decide alone: priors `wider` times those of phones, print bars measured without doubt,
/// plain least squares, lens the same in all photos.
SurveyOptions corners_decide(double wider = 100);

double rms(const std::vector<double>& values);
/// largest magnitude
double worst(const std::vector<double>& values);

}  // namespace chalkfold::survey
