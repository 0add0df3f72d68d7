// SPDX-License-Identifier: Apache-2.0
#include "pipeline/survey/survey.h"

#include <fmt/format.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <map>
#include <set>

#include "pipeline/common/require.h"
#include "pipeline/survey/survey_draft.h"

namespace chalkfold::survey {
namespace {

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

/// Weighted squared residual a degree of freedom, of the photos for which `of` is true: about 1 where the corners are as good as their sigmas say.
double chi_square(const Draft& draft, const std::function<bool(std::size_t photo)>& of) {
  double sum = 0, count = 0, unknowns = 0;
  std::set<int> boards;
  for (const BundleObservation& o : draft.bundle.observations) {
    if (!of(static_cast<std::size_t>(o.photo))) continue;
    constexpr double most = 9;  // of one corner: a few bad ones do not speak for the rest
    sum += std::min(std::pow(bundle_residual(draft.bundle, o).norm() / o.sigma_px, 2), most);
    count += 1;
    boards.insert(o.board);
  }
  for (std::size_t p = 0; p < draft.bundle.photos.size(); ++p) unknowns += of(p) ? 6 : 0;
  unknowns += 3.0 * static_cast<double>(boards.size());
  return 2 * count > unknowns ? sum / (2 * count - unknowns) : 1;
}

/// Above 1 the pictures of a phone are noisier than thought and their covariance grows with it.
std::vector<double> variance_factors(const Draft& draft) {
  std::vector<double> factors;
  for (std::size_t lens = 0; lens < draft.bundle.lenses.size(); ++lens)
    factors.push_back(std::max(
        1.0, chi_square(draft, [&](std::size_t p) { return draft.bundle.photos[p].lens == static_cast<int>(lens); })));
  return factors;
}

/// A draft solved: poses, then all, setups joined, outliers dropped.
BundleResult settle(Draft& draft, const SurveyOptions& options, const std::set<std::size_t>& alone, Faults& faults) {
  add_tapes(draft, options.tape, faults);
  BundleResult result = solve_bundle(draft.bundle, BundleStage::poses);
  if (result.ok) result = solve_bundle(draft.bundle, BundleStage::all);
  if (result.ok && join_setups(draft, alone, options.said)) {
    faults.clear();
    add_tapes(draft, options.tape, faults);
    result = solve_bundle(draft.bundle, BundleStage::all);
  }
  if (result.ok && drop_outliers(draft, options.drop_sigmas) > 0) result = solve_bundle(draft.bundle, BundleStage::all);
  return result;
}

/// A solved draft and what came with it.
struct Solved {
  Draft draft;
  BundleResult result;
  /// phones and faults only
  Survey survey;
};

Solved solve(std::span<const capture::Sighting> sightings, const SurveyOptions& options, const DraftChoices& choices) {
  Solved solved;
  solved.draft = start_draft(sightings, options, choices, solved.survey);
  if (!solved.draft.bundle.photos.empty())
    solved.result = settle(solved.draft, options, choices.alone, solved.survey.faults);
  return solved;
}

/// A photo whose corners fit far worse together with the others than by themselves.
struct Suspect {
  std::size_t photo = 0, sighting = 0;
  /// chi square
  double together = 0, apart = 0;
  int given_up = 0;
};

std::optional<Suspect> suspect(std::span<const capture::Sighting> sightings, const SurveyOptions& options,
                               const Draft& draft, std::size_t photo) {
  constexpr double suspicious = 2.5;  // of chi square: below, the corners' own sigmas may be to blame
  constexpr double far_worse = 2.5;   // times what the photo gives by itself, and more by 1
  constexpr int many_lost = 6;        // corners: a quarter of a sheet
  Suspect s{photo, draft.sighting_of_photo[photo], 0, 0, draft.dropped[photo]};
  s.together = chi_square(draft, [&](std::size_t other) { return other == photo; });
  if (s.together < suspicious && s.given_up == 0) return std::nullopt;
  SurveyOptions own = options;
  own.tape.clear();
  own.said.clear();
  const Solved by_itself = solve(sightings.subspan(s.sighting, 1), own, {});
  if (!by_itself.result.ok) return std::nullopt;
  s.apart = chi_square(by_itself.draft, [](std::size_t) { return true; });
  const bool lost_many = s.given_up - by_itself.draft.dropped[0] >= many_lost;
  if (s.together < far_worse * s.apart + 1 && !lost_many) return std::nullopt;
  return s;
}

/// Mean weighted squared residual of those photos, corners that were given up counted as far off as any can be.
double misfit(const Draft& draft, const std::function<bool(std::size_t photo)>& of) {
  constexpr double most = 9;  // of one corner
  double sum = 0, count = 0;
  for (const BundleObservation& o : draft.bundle.observations) {
    if (!of(static_cast<std::size_t>(o.photo))) continue;
    sum += std::min(std::pow(bundle_residual(draft.bundle, o).norm() / o.sigma_px, 2), most);
    count += 1;
  }
  for (std::size_t p = 0; p < draft.bundle.photos.size(); ++p) {
    if (!of(p)) continue;
    sum += most * draft.dropped[p];
    count += draft.dropped[p];
  }
  return count > 0 ? sum / count : 0;
}

/// One spoiler makes good photos look bad. It is the one without which the other photos of its phone fit best.
Suspect the_spoiler(std::span<const capture::Sighting> sightings, const SurveyOptions& options, const Draft& draft,
                    const std::set<std::size_t>& alone, std::vector<Suspect> suspects) {
  constexpr std::size_t tried = 6;  // each is a solution of the whole job
  if (suspects.size() == 1) return suspects.front();
  std::stable_sort(suspects.begin(), suspects.end(),
                   [](const Suspect& a, const Suspect& b) { return a.together / a.apart > b.together / b.apart; });
  suspects.resize(std::min(suspects.size(), tried));
  const int lens = draft.bundle.photos[suspects.front().photo].lens;
  std::size_t best = 0;
  double least = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < suspects.size(); ++i) {
    DraftChoices without{alone, {}};
    without.alone.insert(suspects[i].sighting);
    const Solved rest = solve(sightings, options, without);
    if (!rest.result.ok) continue;
    const double left = misfit(
        rest.draft, [&](std::size_t p) { return draft.bundle.photos[p].lens == lens && p != suspects[i].photo; });
    if (left < least) least = left, best = i;
  }
  return suspects[best];
}

/// Photos that are to be alone from now on, at most one of a phone: another phone behind the same EXIF, a sheet that was moved a little, one
/// that was bent. They would spoil the rest.
std::set<std::size_t> spoilers(std::span<const capture::Sighting> sightings, const SurveyOptions& options,
                               const Solved& solved, const std::set<std::size_t>& alone, Faults& faults) {
  std::set<std::size_t> found;
  if (solved.draft.bundle.photos.size() < 2) return found;
  std::map<int, std::vector<Suspect>> by_phone;
  for (std::size_t p = 0; p < solved.draft.bundle.photos.size(); ++p) {
    if (alone.contains(solved.draft.sighting_of_photo[p])) continue;
    if (const auto s = suspect(sightings, options, solved.draft, p))
      by_phone[solved.draft.bundle.photos[p].lens].push_back(*s);
  }
  for (const auto& [phone, suspects] : by_phone) {
    const Suspect s = the_spoiler(sightings, options, solved.draft, alone, suspects);
    found.insert(s.sighting);
    faults.push_back(
        {"photo-disagrees", Severity::warning,
         fmt::format("its sheets do not fit what the other photos say of the lens and of where the sheets lie: {:.1f} "
                     "times their uncertainty, "
                     "{:.1f} times by themselves, {} corners given up; it is measured by itself",
                     std::sqrt(s.together), std::sqrt(s.apart), s.given_up),
         "Was a sheet touched between two photos, does one not lie flat, or was another phone or zoom used? "
         "Photograph again if this panel's U is too large.",
         sightings[s.sighting].photo, ""});
  }
  return found;
}

/// Which phones' corners bear the profile out; a fault for one that speaks against it.
std::vector<bool> profile_borne_out(std::span<const capture::Sighting> sightings, const SurveyOptions& options,
                                    const Solved& without, Faults& faults) {
  const calib::LensProfile& profile = *options.lens.profile;
  std::vector<bool> used(without.draft.bundle.lenses.size(), false);
  const BundleCovariances own = bundle_covariances(without.draft.bundle);
  const std::vector<double> factors = variance_factors(without.draft);
  bool any = false;
  for (std::size_t lens = 0; lens < used.size(); ++lens) {
    const auto first = std::find(without.survey.phone_of_sighting.begin(), without.survey.phone_of_sighting.end(),
                                 static_cast<int>(lens));
    const capture::Sighting& s = sightings[static_cast<std::size_t>(first - without.survey.phone_of_sighting.begin())];
    if (!profile_fits(profile, s)) continue;
    any = true;
    if (own.lenses.empty()) continue;
    Eigen::Matrix<double, 8, 1> off = -calib::parameters_of(profile.lens);
    for (std::size_t i = 0; i < BundleLens::free_order.size(); ++i)
      off[static_cast<Eigen::Index>(i)] +=
          without.draft.bundle.lenses[lens].value[static_cast<std::size_t>(BundleLens::free_order[i])];
    const Eigen::Matrix<double, 8, 8> both = profile.covariance + factors[lens] * own.lenses[lens];
    const Eigen::Matrix<double, 8, 1> scale = both.diagonal().cwiseSqrt().cwiseInverse();
    const Eigen::Matrix<double, 8, 8> correlation = scale.asDiagonal() * both * scale.asDiagonal();
    const Eigen::Matrix<double, 8, 1> scaled = scale.cwiseProduct(off);
    const double distance = scaled.dot(correlation.ldlt().solve(scaled));
    constexpr double most = 40;  // of chi square with 8 degrees of freedom: by chance once in 300 000
    if (distance <= most) {
      used[lens] = true;
      continue;
    }
    faults.push_back({"lens-profile-set-aside", Severity::warning,
                      fmt::format("the corners in the photos do not fit the lens profile: they ask for a focal length "
                                  "of {:.1f} px where it says {:.1f}, and lie "
                                  "{:.1f} times its uncertainty off; it was not used",
                                  without.draft.bundle.lenses[lens].value[BundleLens::focal], profile.lens.focal_px,
                                  std::sqrt(distance / 8)),
                      "Is the profile of this phone, this lens and no zoom? Make it again with chalkfold lens.", "",
                      ""});
  }
  if (!any) {
    faults.push_back({"lens-profile-unused", Severity::warning,
                      fmt::format("no photo is of the lens profile's phone: {} {}, {} x {} px, {:g} mm", profile.make,
                                  profile.model, profile.lens.width, profile.lens.height, profile.focal_mm),
                      "Give the profile of the phone that took the photos, or none.", "", ""});
  }
  return used;
}

void fill_views(const Draft& draft, std::span<const capture::Sighting> sightings, const SurveyOptions& options,
                Survey& survey) {
  const std::vector<double> factors = variance_factors(draft);
  const auto [covariances, lenses, joint, print_covariance] = bundle_covariances(draft.bundle);
  survey.joint = joint;
  for (std::size_t lens = 0; lens < lenses.size(); ++lens)
    survey.lens_covariances.push_back(factors[lens] * lenses[lens]);
  const double worst_factor = factors.empty() ? 1 : *std::max_element(factors.begin(), factors.end());
  survey.print_scale_sigma = std::sqrt(worst_factor * print_covariance.diagonal().maxCoeff());
  for (std::size_t p = 0; p < draft.bundle.photos.size(); ++p) {
    const std::size_t index = draft.sighting_of_photo[p];
    const capture::Sighting& s = sightings[index];
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
    const double factor = factors[static_cast<std::size_t>(draft.bundle.photos[p].lens)];
    v.covariance = factor * covariances[p];
    const auto own = TableView::parameters * static_cast<Eigen::Index>(p);
    survey.joint.middleRows<TableView::parameters>(own) *= std::sqrt(factor);
    survey.joint.middleCols<TableView::parameters>(own) *= std::sqrt(factor);
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

Survey solve_survey(std::span<const capture::Sighting> sightings, const SurveyOptions& options) {
  check(options);
  if (!options.said.empty()) require_equal("said of photos", options.said.size(), sightings.size());
  DraftChoices choices;
  Faults faults;
  add_print_faults(options.print, faults);
  Solved solved = solve(sightings, options, choices);
  constexpr int rounds = 6;  // a spoiler found may have hidden another; more than these of one phone are no exceptions
  for (int round = 0; round < rounds && solved.result.ok; ++round) {
    const std::set<std::size_t> found = spoilers(sightings, options, solved, choices.alone, faults);
    if (found.empty()) break;
    choices.alone.insert(found.begin(), found.end());
    solved = solve(sightings, options, choices);
  }
  if (options.lens.profile && solved.result.ok) {
    choices.with_profile = profile_borne_out(sightings, options, solved, faults);
    if (std::find(choices.with_profile.begin(), choices.with_profile.end(), true) != choices.with_profile.end())
      solved = solve(sightings, options, choices);
  }
  auto& [draft, result, survey] = solved;
  survey.views.resize(sightings.size());
  survey.setup_of_sighting.assign(sightings.size(), -1);
  survey.joint_of_sighting.assign(sightings.size(), -1);
  survey.profile_used = choices.with_profile;
  survey.profile_used.resize(draft.bundle.lenses.size(), false);
  survey.faults.insert(survey.faults.begin(), faults.begin(), faults.end());
  if (draft.bundle.photos.empty()) return std::move(survey);
  if (!result.ok) {
    survey.faults.push_back({"survey-failed", Severity::refusal, "the survey did not settle: " + result.why,
                             "Take the photos again with three or four sheets flat around the panel.", "", ""});
    return std::move(survey);
  }
  fill_views(draft, sightings, options, survey);
  const Faults apart = setup_faults(draft, sightings, choices.alone, options.said);
  survey.faults.insert(survey.faults.end(), apart.begin(), apart.end());
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
  return std::move(survey);
}

Eigen::MatrixXd joint_covariance(const Survey& survey, std::span<const std::size_t> sightings) {
  constexpr int own = TableView::parameters;
  for (const std::size_t sighting : sightings) {
    require_index("sighting", sighting, survey.joint_of_sighting.size());
    require_within<Eigen::Index>("first of a sighting's rows", survey.joint_of_sighting[sighting], 0,
                                 survey.joint.rows() - own);
  }
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

}  // namespace chalkfold::survey
