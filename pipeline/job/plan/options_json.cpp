// SPDX-License-Identifier: Apache-2.0
#include <string>

#include "pipeline/job/plan/run_options.h"

namespace chalkfold::job {

namespace {
using Json = nlohmann::ordered_json;

Json optional_number(const std::optional<double>& value) { return value ? Json(*value) : Json(); }

Json load_json(const capture::LoadOptions& o) {
  return {{"max_megapixels", o.max_megapixels}, {"min_megapixels", o.min_megapixels}, {"min_intact", o.min_intact}};
}

Json sighting_json(const capture::SightingOptions& o) {
  return {{"search_px", o.search_px},         {"min_corners", o.min_corners}, {"gate_px", o.gate_px},
          {"min_px_per_mm", o.min_px_per_mm}, {"max_blur_px", o.max_blur_px}, {"over_exposed", o.over_exposed}};
}

Json lens_prior_json(const survey::LensPrior& o) {
  const Json profile = o.profile ? Json{{"make", o.profile->make},
                                        {"model", o.profile->model},
                                        {"focal_px", o.profile->lens.focal_px},
                                        {"photos", o.profile->photos}}
                                 : Json();
  return {{"profile_given", o.lens.has_value() || o.profile.has_value()},
          {"profile", profile},
          {"focal_sigma", o.focal_sigma},
          {"focal_unknown_sigma", o.focal_unknown_sigma},
          {"centre_sigma", o.centre_sigma},
          {"distortion_mid_sigma", o.distortion_mid_sigma},
          {"distortion_corner_sigma", o.distortion_corner_sigma},
          {"distortion_term_sigma", o.distortion_term_sigma},
          {"tangential_sigma", o.tangential_sigma},
          {"breathing_sigma", o.breathing_sigma},
          {"stabiliser_sigma_px", o.stabiliser_sigma_px},
          {"profile_focal_sigma", o.profile_focal_sigma},
          {"profile_centre_sigma_px", o.profile_centre_sigma_px},
          {"profile_corner_sigma", o.profile_corner_sigma}};
}

/// By file names: where the photos lie does not shape the numbers.
Json said_json(const JobFile& job) {
  Json photos = Json::array();
  for (const auto& [file, said] : job.said)
    photos.push_back({{"photo", file.filename().string()}, {"phone", said.phone}, {"setup", said.setup}});
  return {{"phone", job.phone}, {"photos", photos}};
}

Json survey_json(const survey::SurveyOptions& o) {
  Json json;
  json["print"] = {{"long_bar", optional_number(o.print.long_bar_mm)},
                   {"short_bar", optional_number(o.print.short_bar_mm)},
                   {"sigma", o.print.sigma_mm},
                   {"unmeasured_scale_sigma", o.print.unmeasured_scale_sigma},
                   {"unmeasured_ratio_sigma", o.print.unmeasured_ratio_sigma}};
  json["tape"] = Json::array();
  for (const survey::TapeDistance& tape : o.tape) {
    json["tape"].push_back(
        {{"sheets", Json::array({tape.sheet_a, tape.sheet_b})}, {"mm", tape.mm}, {"sigma_mm", tape.sigma_mm}});
  }
  json["lens"] = lens_prior_json(o.lens);
  json["corner_sigma_floor_px"] = o.corner_sigma_floor_px;
  json["robust_sigmas"] = o.robust_sigmas;
  json["drop_sigmas"] = o.drop_sigmas;
  json["strong_tilt_deg"] = o.strong_tilt_deg;
  return json;
}

}  // namespace

Json trace_options_json(const trace::TraceOptions& o) {
  return {{"thickness", o.thickness},
          {"paper_thickness", o.paper_thickness},
          {"thickness_sigma", o.thickness_sigma},
          {"min_width", o.min_width},
          {"min_area", o.min_area},
          {"min_cutout_width", o.min_cutout_width},
          {"coarse_mm_per_px", o.coarse_mm_per_px},
          {"rings", o.rings}};
}

namespace {

Json pairs_json(const RunOptions& options) {
  constexpr const char* keep[] = {"mean", "first", "second"};
  Json json = Json::array();
  for (const PairOf& pair : options.pairs)
    json.push_back(
        {{"first", pair.first}, {"second", pair.second}, {"keep", keep[static_cast<int>(pair.options.keep)]}});
  return json;
}

Json draft_json(const draft::DraftOptions& o, const RunOptions& options) {
  constexpr const char* symmetric[] = {"auto", "yes", "no"};
  constexpr const char* fold[] = {"mean", "left", "right"};
  constexpr const char* notch[] = {"vee", "slit", "round"};
  Json edge_allowances = Json::object();
  for (const auto& [edge, allowance] : o.edge_allowances) edge_allowances[std::to_string(edge)] = allowance;
  return {{"existing_allowance", o.existing_measured ? Json("measured") : Json(o.existing_allowance)},
          {"existing_allowance_given", options.existing_allowance.has_value() || o.existing_measured},
          {"allowance", o.allowance},
          {"mitre_limit", o.mitre_limit},
          {"symmetric", symmetric[static_cast<int>(o.symmetry.symmetric)]},
          {"fold", fold[static_cast<int>(o.symmetry.fold)]},
          {"chalk_sigma", o.symmetry.chalk_sigma},
          {"tolerance", o.edges.tolerance},
          {"corner_arm", o.edges.corners.arm},
          {"quantity", o.quantity},
          {"side", o.side == draft::Side::inside ? "inside" : "face"},
          {"edge_allowances", edge_allowances},
          {"notch_style", notch[static_cast<int>(o.notch_style)]},
          {"notch_depth", o.notch_depth},
          {"pairs", pairs_json(options)},
          {"face", options.files.face},
          {"arcs", options.files.arcs}};
}
}  // namespace

Json options_json(const RunOptions& options) {
  Json survey = survey_json(options.survey);
  if (options.job) survey["said"] = said_json(*options.job);
  return {{"thickness_given", options.thickness.has_value()},
          {"load", load_json(options.load)},
          {"sighting", sighting_json(options.sighting)},
          {"survey", survey},
          {"trace", trace_options_json(effective_trace(options))},
          {"draft", draft_json(effective_draft(options), options)}};
}

}  // namespace chalkfold::job
