// SPDX-License-Identifier: Apache-2.0
#include "pipeline/survey/survey_options.h"

#include <fmt/format.h>

#include "calib/sheet_layout.h"
#include "pipeline/common/check_option.h"
#include "pipeline/common/error.h"

namespace chalkfold::survey {
namespace {

// A sigma of 0 holds a number, or leaves it without a prior, as a very large one does.
constexpr double no_prior = 1e6;  // times the value: what is known so badly is not known
constexpr double far_px = 1e5;

}  // namespace

void check(const TapeDistance& tape) {
  check_option("tape's first sheet", tape.sheet_a, 1, sheet::sheets_max);
  check_option("tape's second sheet", tape.sheet_b, 1, sheet::sheets_max);
  if (tape.sheet_a == tape.sheet_b)
    throw UsageError(
        fmt::format("tape's sheets are {0} and {0}; it must be between two different sheets", tape.sheet_a));
  // Closer than half a sheet, or further than a hall is long: a slip of the unit.
  check_option("tape's distance, mm,", tape.mm, sheet::board_width / 2, 100000);
  check_option("tape's sigma, mm,", tape.sigma_mm, 1e-9, 1000);
}

void check(const PrintCheck& print) {
  // Printers that fit a page to its margins shrink it by up to a tenth.
  check_option("long check bar, mm,", print.long_bar_mm, 0.85 * sheet::long_bar, 1.15 * sheet::long_bar);
  check_option("short check bar, mm,", print.short_bar_mm, 0.85 * sheet::short_bar, 1.15 * sheet::short_bar);
  check_option("sigma of the check bars, mm,", print.sigma_mm, 1e-9, 50);
  check_option("sigma of an unmeasured print scale, as a share,", print.unmeasured_scale_sigma, 0, no_prior);
  check_option("sigma of an unmeasured print ratio, as a share,", print.unmeasured_ratio_sigma, 0, no_prior);
}

void check(const LensPrior& lens) {
  check_option("sigma of the focal length, as a share,", lens.focal_sigma, 0, no_prior);
  check_option("sigma of an unknown focal length, as a share,", lens.focal_unknown_sigma, 0, no_prior);
  check_option("sigma of the lens's centre, as a share,", lens.centre_sigma, 0, no_prior);
  check_option("sigma of the distortion half-way, as a share,", lens.distortion_mid_sigma, 0, no_prior);
  check_option("sigma of the distortion at the corner, as a share,", lens.distortion_corner_sigma, 0, no_prior);
  check_option("sigma of one term of the distortion, as a share,", lens.distortion_term_sigma, 0, no_prior);
  check_option("sigma of the tangential distortion", lens.tangential_sigma, 0, no_prior);
  check_option("sigma of the breathing, as a share,", lens.breathing_sigma, 0, no_prior);
  check_option("sigma of the stabiliser, px,", lens.stabiliser_sigma_px, 0, far_px);
  check_option("sigma of a profile's focal length, as a share,", lens.profile_focal_sigma, 0, no_prior);
  check_option("sigma of a profile's centre, px,", lens.profile_centre_sigma_px, 0, far_px);
  check_option("sigma of a profile at the corner, as a share,", lens.profile_corner_sigma, 0, no_prior);
}

void check(const SurveyOptions& o) {
  check(o.print);
  check(o.lens);
  for (const TapeDistance& tape : o.tape) check(tape);
  check_option("least sigma of corners, px,", o.corner_sigma_floor_px, 0, 100);
  check_option("width of the robust loss, sigmas,", o.robust_sigmas, 0, 1e6);
  check_option("corners given up beyond, sigmas,", o.drop_sigmas, 1, 1e15);
  check_option("strong tilt, degrees,", o.strong_tilt_deg, 0, 90);
}

}  // namespace chalkfold::survey
