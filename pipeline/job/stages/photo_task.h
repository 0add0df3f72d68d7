// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <atomic>
#include <optional>

#include "pipeline/job/files/kept_state.h"
#include "pipeline/job/plan/job_plan.h"
#include "pipeline/job/plan/panel_names.h"
#include "pipeline/job/plan/run_options.h"
#include "pipeline/job/stages/pixel_gate.h"
#include "pipeline/job/stages/stages.h"
#include "pipeline/output/json/results.h"

namespace chalkfold::job {

/// A panel that waits for what other photos show of it.
struct WaitingPanel {
  /// of a whole panel `seen` is empty
  trace::PanelPart traced;
  bool whole = false;
  trace::TraceOptions trace;
  /// if nothing is joined to it
  std::string name;
  /// what the job knows it as
  const JobPanel* of = nullptr;
  /// known so by its tag
  bool by_tag = false;
};

/// What one photo of a run goes through. Each task is worked on by one thread at a time.
struct PhotoTask {
  std::filesystem::path file;
  /// what the photo is called in outputs: its file name, or its path where two photos share a file name
  std::string name;
  std::size_t index = 0;
  /// that it takes decoded; 0 when that is not known beforehand
  long long pixel_bytes = 0;
  /// under which its results are kept; empty when nothing is kept
  std::string reading_key, trace_key;
  capture::Sighting sighting;
  /// pixels kept for the second pass
  std::optional<capture::Photo> kept;
  output::PhotoRecord record;
  std::vector<output::PanelRecord> panels;
  /// for join_panels
  std::vector<WaitingPanel> waiting;
  /// of an earlier photo, under another name: left out of the survey and not measured
  bool copy = false;
  /// the second pass is over
  bool done = false;
  /// panels that the job knew by no tag
  std::size_t unknown = 0;
};

/// Shared by the tasks of a run; nothing in it changes but the pixel budget and what is kept.
struct RunContext {
  const RunOptions& options;
  const Stages& stages;
  const PanelNames& names;
  trace::TraceOptions trace;
  KeptState& kept;
  PixelGate& gate;
  /// of the job file, if there is one; set between the passes
  const JobPlan* plan = nullptr;
  std::atomic<long long> pixel_bytes_left{0};
};

/// First pass: reads the photo and finds its sheets. Never throws but for UserError: whatever else goes wrong is a
/// refusal of this photo.
void read_photo(PhotoTask& task, RunContext& context);

/// Takes over what the survey says of this photo.
void take_survey(PhotoTask& task, const survey::Survey& survey);

/// Second pass: traces the photo's panels and writes the files of those that no other photo has to do with; the others are left waiting. Throws as read_photo.
void measure_photo(PhotoTask& task, const std::optional<survey::TableView>& view, RunContext& context);

/// The photo once more for join_panels, which is to hold a PixelGate::Pass for it; nothing, and a refusal in `faults`, when it has become another one since the first pass. Changes nothing else.
std::optional<capture::Photo> photo_again(const PhotoTask& task, const RunContext& context, Faults& faults);

/// Whether a fault may be gone the next time without anything being changed: memory, a disk or a network that failed. What carries one is
/// not kept for the next run.
bool passes(const Fault& fault);

/// Names a panel's faults after it and its photo.
void name_faults(panel::Panel& panel);

}  // namespace chalkfold::job
