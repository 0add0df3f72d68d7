// SPDX-License-Identifier: Apache-2.0
#include "tests/bench/draft_bench.h"

#include <ctime>

#include "pipeline/common/error.h"
#include "pipeline/job/run_job.h"

namespace chalkfold::bench {
namespace {

double cpu_seconds() { return static_cast<double>(std::clock()) / CLOCKS_PER_SEC; }

}  // namespace

DraftTiming bench_draft(const std::filesystem::path& photo, double thickness, const std::filesystem::path& scratch,
                        int pieces) {
  job::NoProgress progress;
  job::RunOptions measure;
  measure.photos = {photo};
  measure.out = scratch / "measured-for-drafting";
  measure.thickness = thickness;
  measure.threads = 1;
  const output::Results first = job::run_job(measure, progress);
  job::RunOptions draft;
  for (const output::PanelRecord& record : first.panels)
    for (const std::string& file : record.files)
      if (draft.measured.empty() && file.ends_with(".json"))
        draft.measured.assign(static_cast<std::size_t>(pieces), measure.out / file);
  if (draft.measured.empty()) throw FileError("no panel was measured in the photo, so there is nothing to draft");
  draft.out = scratch / "drafted";
  DraftTiming timing;
  timing.pieces = pieces;
  double start = cpu_seconds();
  const output::Results results = job::run_job(draft, progress);
  timing.seconds = cpu_seconds() - start;
  const panel::Panel& panel = results.panels.front().panel;
  start = cpu_seconds();
  for (int i = 0; i < pieces; ++i) draft::draft_piece(panel, job::effective_draft(draft));
  timing.draft_seconds = cpu_seconds() - start;
  return timing;
}

}  // namespace chalkfold::bench
