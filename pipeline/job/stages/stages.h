// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <functional>
#include <optional>
#include <span>
#include <string>

#include "pipeline/capture/peek_photo.h"
#include "pipeline/capture/photo.h"
#include "pipeline/capture/sighting.h"
#include "pipeline/survey/survey.h"
#include "pipeline/trace/trace.h"

namespace chalkfold::job {

/// The stages that a run goes through; tests put their own in.
struct Stages {
  std::function<capture::LoadResult(const std::filesystem::path&, const capture::LoadOptions&)> load_photo;
  std::function<capture::Sighting(const capture::Photo&, const capture::SightingOptions&)> find_sheets;
  std::function<survey::Survey(std::span<const capture::Sighting>, const survey::SurveyOptions&)> solve_survey;
  std::function<trace::TraceResult(const capture::Photo&, const capture::Sighting&, const survey::TableView&,
                                   const trace::TraceOptions&, const trace::StagePicture&)>
      trace_panels;
  /// What the job needs of a photo before it is read; without it nothing is kept for the next run and pixels are not counted beforehand.
  std::function<std::optional<capture::PhotoPeek>(const std::filesystem::path&, const capture::LoadOptions&)>
      peek_photo;
  /// what results depend on beside the inputs: the program; empty: nothing is kept for the next run
  std::string maker;
};

/// Those of the program.
Stages default_stages();

}  // namespace chalkfold::job
