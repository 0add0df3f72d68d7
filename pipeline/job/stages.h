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

namespace chalkfold {

/// The stages that a run goes through; tests put their own in.
struct Stages {
  std::function<LoadResult(const std::filesystem::path&, const LoadOptions&)> load_photo;
  std::function<Sighting(const Photo&, const SightingOptions&)> find_sheets;
  std::function<Survey(std::span<const Sighting>, const SurveyOptions&)> solve_survey;
  std::function<TraceResult(const Photo&, const Sighting&, const TableView&, const TraceOptions&, const StagePicture&)>
      trace_panels;
  /// What the job needs of a photo before it is read; without it nothing is kept for the next run and pixels are not counted beforehand.
  std::function<std::optional<PhotoPeek>(const std::filesystem::path&, const LoadOptions&)> peek_photo;
  std::string
      maker;  ///< what results depend on beside the inputs: the program; empty: nothing is kept for the next run
};

/// Those of the program.
Stages default_stages();

}  // namespace chalkfold
