// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <nlohmann/json.hpp>
#include <optional>
#include <vector>

#include "pipeline/capture/photo.h"
#include "pipeline/capture/sighting.h"
#include "pipeline/draft/piece/draft_piece.h"
#include "pipeline/draft/piece/pair_pieces.h"
#include "pipeline/job/plan/job_file.h"
#include "pipeline/output/pages/pdf_layout.h"
#include "pipeline/survey/survey.h"
#include "pipeline/trace/trace.h"

namespace chalkfold::job {

/// Two panels, by name, whose pieces are to be mirror images of each other.
struct PairOf {
  std::string first, second;
  draft::PairOptions options;
};

/// How pieces are written; its pages are checked.
struct PieceFileOptions {
  /// show the material's face everywhere, whichever side was photographed
  bool face = false;
  output::PdfPages pdf;
  /// arcs of the cut line as arcs in cutter files; otherwise as polylines
  bool arcs = true;
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const PieceFileOptions& options);

/// What one run is asked to do. Stages in running order; `trace.thickness` and its sigma are set from `thickness`
/// below.
struct RunOptions {
  std::vector<std::filesystem::path> photos;
  /// measured/NAME.json of earlier runs: drafted anew without their photos
  std::vector<std::filesystem::path> measured;
  /// folder, made if need be; other files in it are left alone
  std::filesystem::path out;
  /// mm; unset: assumed_thickness, with its larger sigma and a note
  std::optional<double> thickness;
  /// mm; unset: 0.1 for a given thickness
  std::optional<double> thickness_sigma;
  /// mm, vinyl with its backing
  double assumed_thickness = 1.2;
  /// mm, from leather split to vinyl on 3 mm foam
  double assumed_thickness_sigma = 0.8;
  capture::LoadOptions load;
  capture::SightingOptions sighting;
  survey::SurveyOptions survey;
  trace::TraceOptions trace;
  /// of every piece; its existing_allowance is set from `existing_allowance` below
  draft::DraftOptions draft;
  /// mm; unset: the new allowance, so that the cut line stays where the old edge was
  std::optional<double> existing_allowance;
  /// its photos and print bars are among the options already (job_inputs.h); its panels name and draft
  std::optional<JobFile> job;
  std::vector<PairOf> pairs;
  PieceFileOptions files;
  /// photos in work at the same time; 0: one for each core
  int threads = 0;
  /// do everything again, whatever an earlier run kept
  bool fresh = false;
  /// decoded pixels in memory at the same time; a photo that alone needs more is refused
  double memory_mb = 1024;
  /// decoded photos kept from the first pass to the second; the rest is read again
  double keep_pixels_mb = 128;
  /// folder for every stage's picture, or empty
  std::filesystem::path stage_pictures;
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const RunOptions& options);

/// Trace options with the thickness in force.
trace::TraceOptions effective_trace(const RunOptions& options);

/// Draft options with the existing allowance in force.
draft::DraftOptions effective_draft(const RunOptions& options);

/// The part of options_json that trace options shape.
nlohmann::ordered_json trace_options_json(const trace::TraceOptions& options);

/// Everything that shapes the numbers, for results.json: not the threads and not the places of files, so that results
/// compare byte by byte.
nlohmann::ordered_json options_json(const RunOptions& options);

}  // namespace chalkfold::job
