// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>
#include <span>

#include "pipeline/job/progress.h"
#include "pipeline/job/run_options.h"
#include "pipeline/output/results.h"

namespace chalkfold {

/// The stages that a run goes through; tests put their own in.
struct Stages {
  std::function<LoadResult(const std::filesystem::path&, const LoadOptions&)> load_photo;
  std::function<Sighting(const Photo&, const SightingOptions&)> find_sheets;
  std::function<Survey(std::span<const Sighting>, const SurveyOptions&)> solve_survey;
  std::function<TraceResult(const Photo&, const Sighting&, const TableView&, const TraceOptions&, const StagePicture&)>
      trace_panels;
};

/// Those of the program.
Stages default_stages();

/// Measures every panel in the photos, drafts a piece from each and writes OUT/measured, OUT/pieces, OUT/cutter, OUT/pictures, the
/// set, results.json and report.html. Panels measured earlier (options.measured) are drafted without their photos.
///
/// Two passes: read every photo and find its sheets; solve the survey of all together; then trace, photo by photo, and
/// write. At most `threads` photos are in work at a time, and pixels are dropped after a pass but for keep_pixels_mb.
/// Results and files are the same whatever the thread count.
///
/// A photo that fails, even by an exception of a stage, is refused with a fault and the others go on; Results::exit is
/// then some_refused. A panel's files are all written or none. Fault codes of its own: thickness-assumed,
/// photo-given-twice, photo-changed, photo-failed, not-surveyed, older-files. Throws UsageError when an option is out
/// of bounds, FileError when no photo is there to be read or something cannot be written; files already written then
/// stay, each whole.
Results run_job(const RunOptions& options, Progress& progress, const Stages& stages = default_stages());

}  // namespace chalkfold
