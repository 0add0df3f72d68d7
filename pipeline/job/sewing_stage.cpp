// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/sewing_stage.h"

#include <algorithm>

#include "pipeline/common/write_file.h"
#include "pipeline/job/job_plan.h"
#include "pipeline/output/sewing_pdf.h"

namespace chalkfold {
namespace {

SewingOptions sewing_options(const RunOptions& options, const Results& results) {
  SewingOptions sewing;
  sewing.thickness = options.thickness.value_or(options.assumed_thickness);
  for (const PanelRecord& record : results.panels)
    if (is_measured(record)) sewing.thicknesses[record.panel.name] = record.panel.thickness;
  if (!options.job) return sewing;
  sewing.stitch = options.job->stitch;
  for (const PieceRecord& record : results.pieces)
    if (const JobPanel* panel = panel_of(*options.job, record.piece.name); panel && panel->role)
      sewing.roles[record.piece.name] = *panel->role;
  return sewing;
}

}  // namespace

void write_sewing_sheet(const RunOptions& options, const std::vector<SeamReport>& seams, Results& results) {
  if (std::all_of(seams.begin(), seams.end(), [](const SeamReport& seam) { return seam.proposed; })) return;
  std::vector<Piece> pieces;
  for (const PieceRecord& record : results.pieces) pieces.push_back(record.piece);
  results.sewing = SewingRecord{seams, sewing_sheet(seams, pieces, sewing_options(options, results)), "sewing.pdf"};
  write_file_atomically(options.out / results.sewing->file, sewing_pdf(results, options.files.pdf));
}

}  // namespace chalkfold
