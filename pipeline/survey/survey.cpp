// SPDX-License-Identifier: Apache-2.0
#include "pipeline/survey/survey.h"

#include <fmt/format.h>

#include <Eigen/Dense>
#include <algorithm>
#include <limits>
#include <map>
#include <numbers>
#include <set>
#include <tuple>

#include "calib/sheet_layout.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/survey/bundle.h"

#include "pipeline/survey/sensor_frame.h"

namespace chalkfold {
namespace {

SensorFrame frame_of(const Sighting& s) {
  return {s.width, s.height, quarter_turns_of_orientation(s.exif.orientation)};
}

bool usable(const Sighting& s) { return !has_refusal(s.faults) && !s.sheets.empty(); }

constexpr double assumed_focal_35mm = 26;  // the usual main lens of a phone, when EXIF does not say

/// Starting lens of a phone with its priors, from EXIF's 35 mm equivalent (CIPA DC-008: by the diagonal, 43.27 mm) or from a profile.
BundleLens start_lens(const Sighting& s, const LensPrior& prior) {
  const SensorFrame frame = frame_of(s);
  const double w = frame.sensor_width(), h = frame.sensor_height(), diagonal = std::hypot(w, h);
  const double equivalent = s.exif.focal_35mm > 0 ? s.exif.focal_35mm : assumed_focal_35mm;
  BundleLens lens;
  if (prior.lens) {
    const Lens& p = *prior.lens;
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
  Lens l;
  l.focal_px = lens.value[BundleLens::focal];
  l.centre_x_px = lens.value[BundleLens::centre_x];
  l.centre_y_px = lens.value[BundleLens::centre_y];
  l.k1 = lens.value[BundleLens::k1];
  l.k2 = lens.value[BundleLens::k2];
  l.p1 = lens.value[BundleLens::p1];
  l.p2 = lens.value[BundleLens::p2];
  l.k3 = lens.value[BundleLens::k3];
  return ideal_from_photo(l, at_in_sensor);
}

/// The survey under construction: the bundle, and which sighting and sheet each part belongs to.
struct Draft {
  Bundle bundle;
  std::vector<std::size_t> sighting_of_photo;
  std::vector<int> photo_of_sighting;              // -1 when left out
  std::vector<std::map<int, int>> board_of_sheet;  // per photo: sheet number -> board index
  std::vector<int> dropped;                        // per photo
};

std::vector<int> group_phones(std::span<const Sighting> sightings, std::vector<std::size_t>& first_of_phone) {
  std::map<std::tuple<std::string, std::string, int, int, long>, int> phones;
  std::vector<int> phone(sightings.size(), -1);
  for (std::size_t i = 0; i < sightings.size(); ++i) {
    if (!usable(sightings[i])) continue;
    const auto& e = sightings[i].exif;
    const SensorFrame f = frame_of(sightings[i]);
    const auto key =
        std::make_tuple(e.make, e.model, f.sensor_width(), f.sensor_height(), std::lround(100 * e.focal_mm));
    const auto [it, fresh] = phones.emplace(key, static_cast<int>(phones.size()));
    if (fresh) first_of_phone.push_back(i);
    phone[i] = it->second;
  }
  return phone;
}

/// Camera pose over the best sheet, then every sheet's place in that sheet's frame, then the whole turned to the viewer's frame:
/// origin amid the sheets, y away from the viewer.
void place_photo(const Sighting& sighting, const BundleLens& lens, BundlePhoto& photo,
                 std::map<int, BundleBoard>& boards) {
  const SensorFrame frame = frame_of(sighting);
  const auto best = std::max_element(sighting.sheets.begin(), sighting.sheets.end(),
                                     [](const auto& a, const auto& b) { return a.corners.size() < b.corners.size(); });
  const auto ideal_corners = [&](const SheetSighting& s, Polyline& on_sheet) {
    Polyline ideal;
    for (const CornerSighting& c : s.corners) {
      on_sheet.push_back(sheet::corner(c.corner));
      ideal.push_back(ideal_of(lens, frame.sensor_from_photo(c.at_in_photo)));
    }
    return ideal;
  };
  Polyline on_best;
  const Polyline ideal_best = ideal_corners(*best, on_best);
  photo.pose = pose_from_plane(on_best, ideal_best);
  Vec2 middle = Vec2::Zero();
  for (const SheetSighting& s : sighting.sheets) {
    Polyline on_sheet, on_table;
    for (const Vec2& d : ideal_corners(s, on_sheet)) {
      const Vec3 ray = photo.pose.rotation.transpose() * d.homogeneous();
      const Vec3 eye = photo.pose.centre();
      on_table.push_back((eye - eye.z() / ray.z() * ray).head<2>());
    }
    const Rigid2 fit = fit_rigid(on_sheet, on_table);
    boards[s.number] = {photo.setup, s.number, fit.shift, fit.angle, false};
    middle += fit.shift / static_cast<double>(sighting.sheets.size());
  }
  // Up in the upright photo, laid onto the table, becomes table +y.
  const Vec2 sensor_up = frame.sensor_from_photo({0, 0}) - frame.sensor_from_photo({0, 1});
  const Vec3 up = photo.pose.rotation.transpose() * Vec3(sensor_up.x(), sensor_up.y(), 0);
  const double turn = std::numbers::pi / 2 - std::atan2(up.y(), up.x());
  const Rigid2 viewer_from_best{turn, -(Rigid2{turn, Vec2::Zero()} * middle)};
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

void set_print_prior(Bundle& bundle, const PrintCheck& print, Faults& faults) {
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
       "Measure the two check bars on a printed sheet with a steel rule and give them: --long-bar-mm 240 "
       "--short-bar-mm 170 with your numbers.",
       "", ""});
}

void add_observations(Draft& draft, std::span<const Sighting> sightings, double sigma_floor) {
  for (std::size_t p = 0; p < draft.bundle.photos.size(); ++p) {
    const Sighting& s = sightings[draft.sighting_of_photo[p]];
    const SensorFrame frame = frame_of(s);
    for (const SheetSighting& sheet_seen : s.sheets) {
      for (const CornerSighting& c : sheet_seen.corners) {
        draft.bundle.observations.push_back({static_cast<int>(p), draft.board_of_sheet[p].at(sheet_seen.number),
                                             sheet::corner(c.corner), frame.sensor_from_photo(c.at_in_photo),
                                             std::max(c.sigma_px, sigma_floor), c.corner});
      }
    }
  }
}

Draft start_draft(std::span<const Sighting> sightings, const SurveyOptions& options, Survey& survey) {
  Draft draft;
  std::vector<std::size_t> first_of_phone;
  survey.phone_of_sighting = group_phones(sightings, first_of_phone);
  for (std::size_t i : first_of_phone) draft.bundle.lenses.push_back(start_lens(sightings[i], options.lens));
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
  set_print_prior(draft.bundle, options.print, survey.faults);
  add_observations(draft, sightings, options.corner_sigma_floor_px);
  return draft;
}

// Two photos share a setup when their common sheets lie alike to this much: above what either photo alone gets wrong, below any real move.
constexpr double same_place = 2.0;         // mm
constexpr double same_turn = 0.01;         // rad
constexpr double same_place_rate = 0.004;  // of the distance between two sheets

bool same_setup(const Draft& draft, std::size_t a, std::size_t b) {
  std::vector<std::pair<BundleBoard, BundleBoard>> common;
  for (const auto& [number, board] : draft.board_of_sheet[a]) {
    const auto other = draft.board_of_sheet[b].find(number);
    if (other != draft.board_of_sheet[b].end())
      common.emplace_back(draft.bundle.boards[static_cast<std::size_t>(board)],
                          draft.bundle.boards[static_cast<std::size_t>(other->second)]);
  }
  if (common.size() < 2) return false;
  for (std::size_t i = 1; i < common.size(); ++i) {
    const auto place = [](const BundleBoard& from, const BundleBoard& to) {
      return Rigid2{-from.theta, Vec2::Zero()} * (to.centre - from.centre);
    };
    const Vec2 da = place(common[0].first, common[i].first), db = place(common[0].second, common[i].second);
    const double turn = std::remainder(
        (common[i].first.theta - common[0].first.theta) - (common[i].second.theta - common[0].second.theta),
        2 * std::numbers::pi);
    if ((da - db).norm() > same_place + same_place_rate * da.norm() || std::abs(turn) > same_turn) return false;
  }
  return true;
}

/// Lets photos of one setup share its sheets. Returns true when anything was joined.
bool join_setups(Draft& draft) {
  bool joined = false;
  for (std::size_t b = 1; b < draft.bundle.photos.size(); ++b) {
    for (std::size_t a = 0; a < b; ++a) {
      BundlePhoto &pa = draft.bundle.photos[a], &pb = draft.bundle.photos[b];
      if (pa.setup == pb.setup || !same_setup(draft, a, b)) continue;
      // Move b's world onto a's by their common sheets, then share those; sheets that only b saw go over as they lie.
      Polyline from, to;
      for (const auto& [number, board] : draft.board_of_sheet[b]) {
        const auto other = draft.board_of_sheet[a].find(number);
        if (other == draft.board_of_sheet[a].end()) continue;
        from.push_back(draft.bundle.boards[static_cast<std::size_t>(board)].centre);
        to.push_back(draft.bundle.boards[static_cast<std::size_t>(other->second)].centre);
      }
      const Rigid2 a_from_b = fit_rigid(from, to);
      std::map<int, int> known;
      for (std::size_t c = 0; c < draft.bundle.photos.size(); ++c) {
        if (draft.bundle.photos[c].setup != pa.setup) continue;
        for (const auto& [number, board] : draft.board_of_sheet[c]) known.emplace(number, board);
      }
      for (auto& [number, board] : draft.board_of_sheet[b]) {
        BundleBoard& own = draft.bundle.boards[static_cast<std::size_t>(board)];
        own.centre = a_from_b * own.centre;
        own.theta += a_from_b.angle;
        own.setup = pa.setup;
        own.fixed = false;
        const int before = board;
        if (const auto k = known.find(number); k != known.end()) board = k->second;
        for (BundleObservation& o : draft.bundle.observations) {
          if (o.photo == static_cast<int>(b) && o.board == before) o.board = board;
        }
      }
      Mat3 r = Mat3::Identity();
      r.topLeftCorner<2, 2>() << std::cos(a_from_b.angle), -std::sin(a_from_b.angle), std::sin(a_from_b.angle),
          std::cos(a_from_b.angle);
      pb.pose.translation -= pb.pose.rotation * r.transpose() * Vec3(a_from_b.shift.x(), a_from_b.shift.y(), 0);
      pb.pose.rotation = pb.pose.rotation * r.transpose();
      pb.setup = pa.setup;
      joined = true;
      break;
    }
  }
  return joined;
}

int drop_outliers(Draft& draft, double sigmas) {
  std::vector<BundleObservation> kept;
  int dropped = 0;
  for (const BundleObservation& o : draft.bundle.observations) {
    if (bundle_residual(draft.bundle, o).norm() <= sigmas * o.sigma_px) {
      kept.push_back(o);
    } else {
      ++dropped;
      ++draft.dropped[static_cast<std::size_t>(o.photo)];
    }
  }
  draft.bundle.observations = std::move(kept);
  return dropped;
}

/// Tapes between sheets that lie in one setup; those that name a sheet nowhere seen with its partner are reported.
void add_tapes(Draft& draft, const std::vector<TapeDistance>& tapes, Faults& faults) {
  draft.bundle.tape.clear();
  for (const TapeDistance& t : tapes) {
    std::set<std::pair<int, int>> done;
    for (const auto& boards : draft.board_of_sheet) {
      const auto a = boards.find(t.sheet_a), b = boards.find(t.sheet_b);
      if (a == boards.end() || b == boards.end() || !done.emplace(a->second, b->second).second) continue;
      draft.bundle.tape.push_back({a->second, b->second, t.mm, t.sigma_mm});
    }
    if (done.empty()) {
      faults.push_back(
          {"tape-not-used", Severity::warning,
           fmt::format("no photo shows sheets {} and {} together, so the tape distance {:.1f} mm was not used",
                       t.sheet_a, t.sheet_b, t.mm),
           "Give the numbers printed on two sheets that lie in one picture.", "", ""});
    }
  }
}

/// Weighted residual spread against what the sigmas claim; above 1 the picture is noisier than thought and the covariance grows with it.
double variance_factor(const Draft& draft) {
  double sum = 0;
  for (const BundleObservation& o : draft.bundle.observations) {
    const double r = bundle_residual(draft.bundle, o).norm() / o.sigma_px;
    sum += std::min(r * r, 9.0);
  }
  const double unknowns =
      6.0 * static_cast<double>(draft.bundle.photos.size()) + 3.0 * static_cast<double>(draft.bundle.boards.size());
  const double freedom = 2.0 * static_cast<double>(draft.bundle.observations.size()) - unknowns;
  return freedom > 0 ? std::max(1.0, sum / freedom) : 1.0;
}

void fill_views(const Draft& draft, std::span<const Sighting> sightings, const SurveyOptions& options, Survey& survey) {
  const double factor = variance_factor(draft);
  const auto [covariances, joint, print_covariance] = bundle_covariances(draft.bundle);
  survey.joint = factor * joint;
  survey.print_scale_sigma = std::sqrt(factor * print_covariance.diagonal().maxCoeff());
  for (std::size_t p = 0; p < draft.bundle.photos.size(); ++p) {
    const std::size_t index = draft.sighting_of_photo[p];
    const Sighting& s = sightings[index];
    const SensorFrame frame = frame_of(s);
    TableView::Solution v;
    v.photo = s.photo;
    v.width = s.width;
    v.height = s.height;
    v.quarter_turns = frame.quarter_turns;
    v.lens = effective_lens(draft.bundle, static_cast<int>(p), frame.sensor_width(), frame.sensor_height());
    v.pose = draft.bundle.photos[p].pose;
    for (const auto& [number, board] : draft.board_of_sheet[p]) {
      const BundleBoard& b = draft.bundle.boards[static_cast<std::size_t>(board)];
      v.sheets.push_back({number, b.centre, b.theta});
    }
    v.print_scale_x = draft.bundle.print_scale.x();
    v.print_scale_y = draft.bundle.print_scale.y();
    double sum = 0;
    for (const BundleObservation& o : draft.bundle.observations) {
      if (o.photo != static_cast<int>(p)) continue;
      sum += bundle_residual(draft.bundle, o).squaredNorm();
      ++v.corners_used;
    }
    v.corners_dropped = draft.dropped[p];
    v.reprojection_rms_px = v.corners_used ? std::sqrt(sum / v.corners_used) : 0;
    if (covariances.empty() || v.corners_used < 8) {
      survey.faults.push_back(
          {"survey-failed", Severity::refusal,
           fmt::format("camera and sheets could not be solved from {} corners", v.corners_used),
           "Lay three or four sheets around the panel, flat and whole in the picture, and take the photo again.",
           s.photo, ""});
      continue;
    }
    v.covariance = factor * covariances[p];
    survey.setup_of_sighting[index] = draft.bundle.photos[p].setup;
    survey.joint_of_sighting[index] = TableView::parameters * static_cast<int>(p);
    const TableView& view = survey.views[index].emplace(std::move(v));
    if (view.tilt_deg() > options.strong_tilt_deg) {
      survey.faults.push_back({"strong-tilt", Severity::warning,
                               fmt::format("the phone was tilted {:.0f} degrees (up to {:.0f} is good)",
                                           view.tilt_deg(), options.strong_tilt_deg),
                               "Hold the phone above the middle of the panel, looking straight down.", s.photo, ""});
    }
  }
}

}  // namespace

Survey solve_survey(std::span<const Sighting> sightings, const SurveyOptions& options) {
  Survey survey;
  survey.views.resize(sightings.size());
  survey.setup_of_sighting.assign(sightings.size(), -1);
  survey.joint_of_sighting.assign(sightings.size(), -1);
  Draft draft = start_draft(sightings, options, survey);
  if (draft.bundle.photos.empty()) return survey;
  add_tapes(draft, options.tape, survey.faults);
  BundleResult result = solve_bundle(draft.bundle, BundleStage::poses);
  if (result.ok) result = solve_bundle(draft.bundle, BundleStage::all);
  if (result.ok && join_setups(draft)) {
    add_tapes(draft, options.tape, survey.faults);
    result = solve_bundle(draft.bundle, BundleStage::all);
  }
  if (result.ok && drop_outliers(draft, options.drop_sigmas) > 0) result = solve_bundle(draft.bundle, BundleStage::all);
  if (!result.ok) {
    survey.faults.push_back({"survey-failed", Severity::refusal, "the survey did not settle: " + result.why,
                             "Take the photos again with three or four sheets flat around the panel.", "", ""});
    return survey;
  }
  fill_views(draft, sightings, options, survey);
  for (std::size_t i = 0; i < draft.bundle.lenses.size(); ++i) {
    const auto first =
        std::find(survey.phone_of_sighting.begin(), survey.phone_of_sighting.end(), static_cast<int>(i)) -
        survey.phone_of_sighting.begin();
    const SensorFrame frame = frame_of(sightings[static_cast<std::size_t>(first)]);
    const auto& v = draft.bundle.lenses[i].value;
    survey.lenses.push_back(
        {frame.sensor_width(), frame.sensor_height(), v[0], v[3], v[4], v[5], v[6], v[7], v[8], v[9]});
  }
  survey.print_scale_x = draft.bundle.print_scale.x();
  survey.print_scale_y = draft.bundle.print_scale.y();
  survey.reprojection_rms_px = result.rms_px;
  return survey;
}

Eigen::MatrixXd joint_covariance(const Survey& survey, std::span<const std::size_t> sightings) {
  constexpr int own = TableView::parameters;
  const auto n = static_cast<Eigen::Index>(sightings.size());
  Eigen::MatrixXd out(own * n, own * n);
  for (Eigen::Index a = 0; a < n; ++a) {
    for (Eigen::Index b = 0; b < n; ++b) {
      const int row = survey.joint_of_sighting.at(sightings[static_cast<std::size_t>(a)]),
                column = survey.joint_of_sighting.at(sightings[static_cast<std::size_t>(b)]);
      out.block<own, own>(own * a, own * b) = survey.joint.block<own, own>(row, column);
    }
  }
  return out;
}

}  // namespace chalkfold
