// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/job/plan/run_options.h"
#include "pipeline/job/stages/progress.h"
#include "pipeline/job/stages/stages.h"
#include "pipeline/output/json/results.h"

namespace chalkfold::job {

/// Measures every panel in the photos, drafts a piece from each and writes OUT/measured, OUT/pieces, OUT/cutter, OUT/pictures, the
/// set, results.json and report.html. Panels measured earlier (options.measured) are drafted without their photos.
///
/// Two passes: read every photo and find its sheets; solve the survey of all together; then trace, photo by photo, and
/// write; then join what several photos show of one panel. At most `threads` photos are in work at a time, decoded pixels never take more than memory_mb,
/// and they are dropped after a pass but for keep_pixels_mb. Results and files are the same whatever the thread count.
///
/// The folder is held against other runs (run_lock.h), and intermediate results are kept in it (kept_state.h): a run that was stopped or killed, or is done again,
/// reads and traces only photos that changed. When progress.stop_wanted() turns true, photos in work are finished, their results kept, and Interrupted is thrown.
///
/// A photo that fails, even by an exception of a stage, is refused with a fault and the others go on; Results::exit is
/// then some_refused. A panel's files are all written or none. Fault codes of its own: thickness-assumed,
/// photo-given-twice, photo-changed, photo-failed, photo-over-memory, not-surveyed, older-files. Throws UsageError when an option is out
/// of bounds, FileError when no photo is there to be read or something cannot be written; files already written then
/// stay, each whole.
output::Results run_job(const RunOptions& options, Progress& progress, const Stages& stages = default_stages());

}  // namespace chalkfold::job
