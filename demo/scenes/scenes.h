// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "demo/base/scene.h"
#include "demo/camera/sensor.h"

namespace chalkfold::demo {

inline constexpr int launch_photos = 6;

/// Photo 0..5 of the demo set: the nine panels of a helm seat, and the cushion top once more with the sheets moved.
/// Phone noise is on. Throws std::logic_error for another index.
Scene launch_scene(int photo_index, int width_px = 4032);

/// The photographs of demo/helm-seat.job.json: the launch's six, the bench's two, and one of the sides that was shaken on purpose: its
/// sheets can be read and not measured.
std::vector<Scene> launch_job(int width_px = 4032);

struct RandomSceneOptions {
  int width_px = 4032;
  int sheets_min = 1, sheets_max = 4;
  int panels_min = 1, panels_max = 3;
  double height_min = 750,
         /// mm wished for; the camera goes higher until everything is in the picture
      height_max = 1250;
  double tilt_max_deg = 25;
  /// each of x and y, never beyond two sigma; 0 prints true
  double print_scale_sigma = 0.003;
  /// share, never beyond two sigma
  double focal_change_sigma = 0.01;
  /// at width 4032
  double centre_shift_sigma_px = 10;
  double portrait_share = 0.4;
  double frayed_share = 0.3;
  /// panels of 3 to 8 mm; the others 0.8 to 1.6 mm
  double thick_share = 0.25;
  double tools_share = 0.4;
  double shadow_across_share = 0.15;
  /// luminance of table over panel or panel over table, at least 1; 0: as it falls, over contrast_min
  double contrast = 0;
  double contrast_min = 1.5;
  bool chalked = true;
  /// without noise by default
  Sensor sensor;
};

/// A scene by chance: lens, camera, print scale, table, light, panels, sheets around them, tools; panels, sheets and
/// tags lie inside the frame and apart. The same seed and options give the same scene.
Scene random_scene(std::uint64_t seed, const RandomSceneOptions& options = {});

/// One asymmetric panel, a flag with one notch, chalked with an R and an arrow; four sheets. For tests of handedness.
Scene flag_scene(std::uint64_t seed, int width_px = 4032);

/// A cushion's top with a chalked centre line whose right half has stretched by 2.5 % across it; four sheets. For tests of symmetry.
Scene worn_scene(int width_px = 4032);

/// A bench's cover of 1.5 m, too long for one photo: its left and right part, the sheets lying as they were.
std::vector<Scene> bench_scenes(int width_px = 4032);

/// A mat of 1.4 m by 1 m in four photos, two by two; no photo shows sheets of all sides, and opposite ones share none.
std::vector<Scene> mosaic_scenes(int width_px = 4032);

/// A hide of 1.2 m in two photos, with a hole and three flaws ringed with chalk of this contrast (chalk_tone).
std::vector<Scene> hide_scenes(int width_px = 4032, double contrast = 5);

/// A remnant of one of mark_materials with three rings, in one photo. For trying the finding of rings.
Scene offcut_scene(std::uint64_t seed, double contrast, const std::string& material, int width_px = 4032);

/// Twelve photographs for a lens profile: four sheets that fill the frame, leaning 20 to 30 degrees to every side, some turned. Focus and
/// stabiliser rest: each photo's lens is the phone's.
std::vector<Scene> lens_scenes(int width_px = 4032);

/// Eight photographs of one cushion's top by one phone, each with one sheet, now beside it and now above it, and with other tilts; focus
/// and stabiliser move as ever.
std::vector<Scene> one_sheet_scenes(int width_px = 4032);

/// How the pad of changed_scene changed: lengths along and across its grain, and the angle between them, which closed.
struct PadChange {
  double along_percent = 1.2, across_percent = -0.8, shear_deg = 0.5;
  /// changed from unchanged, panel frame
  Mat2 map() const;
};
/// rad, in the panel frame
inline constexpr double pad_grain = 0.2;

/// An asymmetric pad with a grain arrow and three awl holes, as it was cut or after it changed; four sheets. For tests of dimensional
/// change.
Scene changed_scene(bool after, int width_px = 4032);

/// Photographs that a user should be told about: no sheets, one sheet, a panel cut by the frame, out of focus, a panel
/// over a sheet.
enum class FaultScene { no_sheets, one_sheet, cut_by_frame, out_of_focus, panel_over_sheet };
Scene fault_scene(FaultScene fault, int width_px = 4032);
std::vector<Scene> fault_scenes(int width_px = 4032);

}  // namespace chalkfold::demo
