// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/stages/compare_stage.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "pipeline/common/error.h"
#include "pipeline/common/utf8.h"
#include "pipeline/common/write_file.h"
#include "pipeline/draft/change/compensated_piece.h"
#include "pipeline/job/files/write_files.h"
#include "pipeline/job/plan/job_plan.h"
#include "pipeline/output/report/compare_report.h"

namespace chalkfold::job {

namespace {
void tell_refused(const draft::DimensionalChange& change, const std::string& panel, output::Results& results) {
  for (const Fault& fault : change.faults)
    if (fault.severity == Severity::refusal)
      results.faults.push_back(
          {"not-compared",
           Severity::warning,
           fmt::format("no dimensional change against {}: {}", plain_text(change.reference), fault.seen),
           fault.remedy,
           {},
           panel});
}

void compare(const NamedReference& known, const JobPanel& asked, const RunOptions& options, output::PanelRecord& record,
             output::Results& results) {
  draft::ChangeOptions change;
  change.grain_deg = asked.grain_deg;
  draft::ComparedShape measured = draft::compared_panel(record.panel);
  measured.side = draft_options_of(asked, *options.job, options.draft).side;
  record.change = output::compared_with(known.reference, measured, change);
  if (!known.remark.empty())
    record.change->faults.push_back({"drawing-assumed",
                                     Severity::warning,
                                     known.remark,
                                     "Compare a length in the table with what you know.",
                                     {},
                                     record.panel.name});
  tell_refused(*record.change, record.panel.name, results);
  const std::string svg = output::compare_svg(*record.change);
  if (svg.empty()) return;
  record.change_picture = "pictures/" + record.panel.name + " dimensional change.svg";
  write_file_atomically(options.out / record.change_picture, svg);
}

void add_fault(draft::Piece& piece, const char* code, Severity severity, const std::string& seen,
               const std::string& remedy) {
  piece.faults.push_back({code, severity, seen, remedy, piece.measured_on, piece.name});
}
}  // namespace

JobReferences read_references(const RunOptions& options) {
  JobReferences references;
  if (!options.job) return references;
  for (const JobPanel& panel : options.job->panels) {
    if (!panel.reference) continue;
    if (panel.reference->size) {
      references[panel.name] = {output::checked_size((*panel.reference->size)[0], (*panel.reference->size)[1]), {}};
      continue;
    }
    const std::string where = plain_text(panel.reference->file.string());
    output::ReadShape read = output::read_shape(read_named_file(panel.reference->file), where, draft::PieceLine::cut);
    references[panel.name] = {std::move(read.shape), read.remark};
  }
  return references;
}

void compare_panels(const JobReferences& references, const RunOptions& options, output::Results& results) {
  if (!options.job) return;
  for (output::PanelRecord& record : results.panels) {
    const JobPanel* asked = panel_of(*options.job, record.panel.name);
    if (!asked || !output::is_measured(record)) continue;
    const auto known = references.find(asked->name);
    if (known != references.end()) compare(known->second, *asked, options, record, results);
  }
}

void compensate(draft::Piece& piece, const panel::Panel& panel, const RunOptions& options,
                const output::Results& results) {
  const JobPanel* asked = options.job ? panel_of(*options.job, panel.name) : nullptr;
  if (!asked || !asked->compensate || has_refusal(piece.faults)) return;
  const auto record = std::find_if(results.panels.begin(), results.panels.end(),
                                   [&](const output::PanelRecord& r) { return &r.panel == &panel; });
  if (record == results.panels.end() || !record->change || !record->change->done) {
    add_fault(piece, "not-compensated", Severity::warning,
              "the piece was to be scaled for its dimensional change, but there is none to go by",
              "See why the panel could not be compared with its reference.");
    return;
  }
  const draft::DimensionalChange& change = *record->change;
  if (std::abs(change.along.percent) <= change.along.U && std::abs(change.across.percent) <= change.across.U)
    add_fault(
        piece, "change-within-u", Severity::note,
        fmt::format("the piece was scaled for a change of {:+.2f} % along and {:+.2f} % across that lies within U",
                    change.along.percent, change.across.percent),
        "Leave compensate out: there is no change that the measurement is sure of.");
  if (piece.pairing.done)
    add_fault(piece, "pair-scaled-apart", Severity::warning,
              "each piece of the pair is scaled for its own panel's change: they are no longer mirror images",
              "Leave compensate out for one of them and cut it from the other's pattern, turned over.");
  const Vec2 direction = geometry::Rigid2{piece.piece_from_panel.angle, Vec2::Zero()} * change.direction;
  piece = draft::compensated_piece(piece, {change.along.percent, change.across.percent, direction},
                                   options.draft.mitre_limit);
}

}  // namespace chalkfold::job
