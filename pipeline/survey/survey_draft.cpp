// SPDX-License-Identifier: Apache-2.0
#include "pipeline/survey/survey_draft.h"

#include <fmt/format.h>

#include <Eigen/Dense>
#include <algorithm>
#include <limits>
#include <map>
#include <numbers>

#include "calib/sheet_layout.h"
#include "pipeline/geometry/polygon.h"

namespace chalkfold::survey {
namespace {

constexpr double assumed_focal_35mm = 26;  // the usual main lens of a phone, when EXIF does not say

/// W with W C W' = 1, its numbers' sizes evened out before factorising.
Eigen::Matrix<double, 8, 8> inverse_root(const Eigen::Matrix<double, 8, 8>& covariance) {
  using Matrix8 = Eigen::Matrix<double, 8, 8>;
  const Eigen::Matrix<double, 8, 1> scale = covariance.diagonal().cwiseSqrt().cwiseInverse();
  const Matrix8 correlation = scale.asDiagonal() * covariance * scale.asDiagonal();
  const Matrix8 lower = correlation.llt().matrixL();
  const Matrix8 inverse = lower.triangularView<Eigen::Lower>().solve(Matrix8::Identity());
  return inverse * scale.asDiagonal();
}

/// Starting lens of a phone with its priors, from EXIF's 35 mm equivalent (CIPA DC-008: by the diagonal, 43.27 mm) or from a profile.
BundleLens start_lens(const capture::Sighting& s, const LensPrior& prior, bool with_profile) {
  const SensorFrame frame = frame_of(s);
  const double w = frame.sensor_width(), h = frame.sensor_height(), diagonal = std::hypot(w, h);
  const double equivalent = s.exif.focal_35mm > 0 ? s.exif.focal_35mm : assumed_focal_35mm;
  BundleLens lens;
  if (with_profile) {
    const calib::Lens& p = prior.profile->lens;
    lens.value = {p.focal_px, 1, 0, p.centre_x_px, p.centre_y_px, p.k1, p.k2, p.p1, p.p2, p.k3};
    lens.joint_prior = BundleLens::JointPrior{calib::parameters_of(p), inverse_root(prior.profile->covariance)};
    return lens;
  }
  if (prior.lens) {
    const calib::Lens& p = *prior.lens;
    lens.value = {p.focal_px, 1, 0, p.centre_x_px, p.centre_y_px, p.k1, p.k2, p.p1, p.p2, p.k3};
    lens.prior = lens.value;
    lens.prior_sigma = {prior.profile_focal_sigma * p.focal_px,
                        0,
                        0,
                        prior.profile_centre_sigma_px,
                        prior.profile_centre_sigma_px,
                        1e-2,
                        2e-2,
                        2e-4,
                        2e-4,
                        1e-2};
    lens.radial_priors = {{0.5 * diagonal / p.focal_px, 0, prior.profile_corner_sigma}};
    auto& r = lens.radial_priors[0];
    const double r2 = r.radius * r.radius;
    r.mean = r2 * (p.k1 + r2 * (p.k2 + r2 * p.k3));
    return lens;
  }
  const double focal = equivalent / std::hypot(36.0, 24.0) * diagonal;
  lens.value = {focal, 1, 0, 0.5 * (w - 1), 0.5 * (h - 1), 0, 0, 0, 0, 0};
  lens.prior = lens.value;
  const double relative = s.exif.focal_35mm > 0 ? prior.focal_sigma : prior.focal_unknown_sigma;
  // The three radial terms are bounded by what each may do at the photo's corner, and together by what phones' pictures show there and half-way.
  const double corner = 0.5 * diagonal / focal, c2 = corner * corner;
  lens.prior_sigma = {relative * focal,
                      0,
                      0,
                      prior.centre_sigma * diagonal,
                      prior.centre_sigma * diagonal,
                      prior.distortion_term_sigma / c2,
                      prior.distortion_term_sigma / (c2 * c2),
                      prior.tangential_sigma,
                      prior.tangential_sigma,
                      prior.distortion_term_sigma / (c2 * c2 * c2)};
  lens.radial_priors = {{0.5 * corner, 0, prior.distortion_mid_sigma}, {corner, 0, prior.distortion_corner_sigma}};
  return lens;
}

Vec2 ideal_of(const BundleLens& lens, const Vec2& at_in_sensor) {
  calib::Lens l;
  l.focal_px = lens.value[BundleLens::focal];
  l.centre_x_px = lens.value[BundleLens::centre_x];
  l.centre_y_px = lens.value[BundleLens::centre_y];
  l.k1 = lens.value[BundleLens::k1];
  l.k2 = lens.value[BundleLens::k2];
  l.p1 = lens.value[BundleLens::p1];
  l.p2 = lens.value[BundleLens::p2];
  l.k3 = lens.value[BundleLens::k3];
  return calib::ideal_from_photo(l, at_in_sensor);
}

/// Camera pose over the best sheet, then every sheet's place in that sheet's frame, then the whole turned to the viewer's frame:
/// origin amid the sheets, y away from the viewer.
void place_photo(const capture::Sighting& sighting, const BundleLens& lens, BundlePhoto& photo,
                 std::map<int, BundleBoard>& boards) {
  const SensorFrame frame = frame_of(sighting);
  const auto best = std::max_element(sighting.sheets.begin(), sighting.sheets.end(),
                                     [](const auto& a, const auto& b) { return a.corners.size() < b.corners.size(); });
  const auto ideal_corners = [&](const capture::SheetSighting& s, Polyline& on_sheet) {
    Polyline ideal;
    for (const capture::CornerSighting& c : s.corners) {
      on_sheet.push_back(sheet::corner(c.corner));
      ideal.push_back(ideal_of(lens, frame.sensor_from_photo(c.at_in_photo)));
    }
    return ideal;
  };
  Polyline on_best;
  const Polyline ideal_best = ideal_corners(*best, on_best);
  photo.pose = pose_from_plane(on_best, ideal_best);
  Vec2 middle = Vec2::Zero();
  for (const capture::SheetSighting& s : sighting.sheets) {
    Polyline on_sheet, on_table;
    for (const Vec2& d : ideal_corners(s, on_sheet)) {
      const Vec3 ray = photo.pose.rotation.transpose() * d.homogeneous();
      const Vec3 eye = photo.pose.centre();
      on_table.push_back((eye - eye.z() / ray.z() * ray).head<2>());
    }
    const geometry::Rigid2 fit = geometry::fit_rigid(on_sheet, on_table);
    boards[s.number] = {photo.setup, s.number, fit.shift, fit.angle, false};
    middle += fit.shift / static_cast<double>(sighting.sheets.size());
  }
  // Up in the upright photo, laid onto the table, becomes table +y.
  const Vec2 sensor_up = frame.sensor_from_photo({0, 0}) - frame.sensor_from_photo({0, 1});
  const Vec3 up = photo.pose.rotation.transpose() * Vec3(sensor_up.x(), sensor_up.y(), 0);
  const double turn = std::numbers::pi / 2 - std::atan2(up.y(), up.x());
  const geometry::Rigid2 viewer_from_best{turn, -(geometry::Rigid2{turn, Vec2::Zero()} * middle)};
  for (auto& [number, board] : boards) {
    board.centre = viewer_from_best * board.centre;
    board.theta += turn;
  }
  Mat3 r = Mat3::Identity();
  r.topLeftCorner<2, 2>() << std::cos(turn), -std::sin(turn), std::sin(turn), std::cos(turn);
  photo.pose.translation -=
      photo.pose.rotation * r.transpose() * Vec3(viewer_from_best.shift.x(), viewer_from_best.shift.y(), 0);
  photo.pose.rotation = photo.pose.rotation * r.transpose();
}

void set_print_prior(Bundle& bundle, const PrintCheck& print) {
  constexpr double from_other_axis = std::numeric_limits<double>::infinity();
  const double x = print.short_bar_mm.value_or(0) / sheet::short_bar,
               y = print.long_bar_mm.value_or(0) / sheet::long_bar;
  // A bar that was not measured is taken to be off as the other is: a printer's driver scales both axes, its rollers and optics differ a little.
  bundle.print_scale_prior = {print.short_bar_mm  ? x
                              : print.long_bar_mm ? y
                                                  : 1.0,
                              print.long_bar_mm    ? y
                              : print.short_bar_mm ? x
                                                   : 1.0};
  bundle.print_scale_sigma = {print.short_bar_mm ? print.sigma_mm / sheet::short_bar : from_other_axis,
                              print.long_bar_mm ? print.sigma_mm / sheet::long_bar : from_other_axis};
  bundle.print_common_sigma = print.short_bar_mm || print.long_bar_mm ? 0 : print.unmeasured_scale_sigma;
  bundle.print_difference_sigma = print.short_bar_mm && print.long_bar_mm ? 0 : print.unmeasured_ratio_sigma;
  bundle.print_scale = bundle.print_scale_prior;
}

void add_observations(Draft& draft, std::span<const capture::Sighting> sightings, double sigma_floor) {
  for (std::size_t p = 0; p < draft.bundle.photos.size(); ++p) {
    const capture::Sighting& s = sightings[draft.sighting_of_photo[p]];
    const SensorFrame frame = frame_of(s);
    for (const capture::SheetSighting& sheet_seen : s.sheets) {
      for (const capture::CornerSighting& c : sheet_seen.corners) {
        draft.bundle.observations.push_back({static_cast<int>(p), draft.board_of_sheet[p].at(sheet_seen.number),
                                             sheet::corner(c.corner), frame.sensor_from_photo(c.at_in_photo),
                                             std::max(c.sigma_px, sigma_floor), c.corner});
      }
    }
  }
}

}  // namespace

SensorFrame frame_of(const capture::Sighting& s) {
  return {s.width, s.height, quarter_turns_of_orientation(s.exif.orientation)};
}

void add_print_faults(const PrintCheck& print, Faults& faults) {
  if (print.long_bar_mm && print.short_bar_mm) return;
  faults.push_back(
      {"print-scale-unmeasured", Severity::warning,
       print.long_bar_mm || print.short_bar_mm
           ? fmt::format(
                 "one of the two printed check bars was not measured, so lengths along it are doubtful by {:.1f} %",
                 100 * print.unmeasured_ratio_sigma)
           : fmt::format(
                 "the printed check bars were not measured, so every length is doubtful by {:.1f} % (1.2 mm on 400 mm)",
                 100 * print.unmeasured_scale_sigma),
       "Measure the two check bars on a printed sheet with a steel rule and give them: long_bar_mm and "
       "short_bar_mm under print in the job, or --long-bar-mm 240 --short-bar-mm 170 with your numbers.",
       "", ""});
}

bool profile_fits(const calib::LensProfile& profile, const capture::Sighting& sighting) {
  const capture::PhotoExif& e = sighting.exif;
  const SensorFrame f = frame_of(sighting);
  const auto differ = [](const std::string& a, const std::string& b) { return !a.empty() && !b.empty() && a != b; };
  constexpr double same_focal = 0.01;  // share: EXIF rounds it
  const bool other_focal =
      profile.focal_mm > 0 && e.focal_mm > 0 && std::abs(e.focal_mm / profile.focal_mm - 1) > same_focal;
  constexpr double same_equivalent = 1;  // mm: EXIF writes whole ones
  const bool other_equivalent =
      profile.focal_35mm > 0 && e.focal_35mm > 0 && std::abs(e.focal_35mm - profile.focal_35mm) > same_equivalent;
  return f.sensor_width() == profile.lens.width && f.sensor_height() == profile.lens.height &&
         !differ(profile.make, e.make) && !differ(profile.model, e.model) && !other_focal && !other_equivalent &&
         zoom_key(e.digital_zoom) == zoom_key(profile.digital_zoom);
}

Draft start_draft(std::span<const capture::Sighting> sightings, const SurveyOptions& options,
                  const DraftChoices& choices, Survey& survey) {
  Draft draft;
  std::vector<std::size_t> begin_with;
  survey.phone_of_sighting = group_phones(sightings, options.said, choices.alone, begin_with);
  for (std::size_t i : begin_with) {
    const std::size_t phone = draft.bundle.lenses.size();
    const bool with_profile = phone < choices.with_profile.size() && choices.with_profile[phone];
    draft.bundle.lenses.push_back(start_lens(sightings[i], options.lens, with_profile));
  }
  draft.photo_of_sighting.assign(sightings.size(), -1);
  for (std::size_t i = 0; i < sightings.size(); ++i) {
    if (survey.phone_of_sighting[i] < 0) continue;
    BundlePhoto photo;
    photo.lens = survey.phone_of_sighting[i];
    photo.setup = static_cast<int>(draft.bundle.photos.size());
    std::map<int, BundleBoard> boards;
    place_photo(sightings[i], draft.bundle.lenses[static_cast<std::size_t>(photo.lens)], photo, boards);
    std::map<int, int> index;
    for (auto& [number, board] : boards) {
      board.fixed = index.empty();
      index[number] = static_cast<int>(draft.bundle.boards.size());
      draft.bundle.boards.push_back(board);
    }
    draft.photo_of_sighting[i] = photo.setup;
    draft.sighting_of_photo.push_back(i);
    draft.bundle.photos.push_back(photo);
    draft.board_of_sheet.push_back(std::move(index));
  }
  draft.dropped.assign(draft.bundle.photos.size(), 0);
  draft.bundle.breathing_sigma = options.lens.breathing_sigma;
  draft.bundle.stabiliser_sigma_px = options.lens.stabiliser_sigma_px;
  draft.bundle.robust_sigmas = options.robust_sigmas;
  set_print_prior(draft.bundle, options.print);
  add_observations(draft, sightings, options.corner_sigma_floor_px);
  return draft;
}

}  // namespace chalkfold::survey
