// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/stages/sewing_stage.h"

#include <algorithm>

#include "pipeline/common/write_file.h"
#include "pipeline/job/plan/job_plan.h"
#include "pipeline/output/pages/sewing_pdf.h"

namespace chalkfold::job {
namespace {

draft::SewingOptions sewing_options(const RunOptions& options, const output::Results& results) {
  draft::SewingOptions sewing;
  sewing.thickness = options.thickness.value_or(options.assumed_thickness);
  for (const output::PanelRecord& record : results.panels)
    if (output::is_measured(record)) sewing.thicknesses[record.panel.name] = record.panel.thickness;
  if (!options.job) return sewing;
  sewing.stitch = options.job->stitch;
  for (const output::PieceRecord& record : results.pieces)
    if (const JobPanel* panel = panel_of(*options.job, record.piece.name); panel && panel->role)
      sewing.roles[record.piece.name] = *panel->role;
  return sewing;
}

}  // namespace

void write_sewing_sheet(const RunOptions& options, const std::vector<draft::SeamReport>& seams,
                        output::Results& results) {
  if (std::all_of(seams.begin(), seams.end(), [](const draft::SeamReport& seam) { return seam.proposed; })) return;
  std::vector<draft::Piece> pieces;
  for (const output::PieceRecord& record : results.pieces) pieces.push_back(record.piece);
  results.sewing =
      output::SewingRecord{seams, draft::sewing_sheet(seams, pieces, sewing_options(options, results)), "sewing.pdf"};
  write_file_atomically(options.out / results.sewing->file, output::sewing_pdf(results, options.files.pdf));
}

}  // namespace chalkfold::job
