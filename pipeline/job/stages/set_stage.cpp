// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/stages/set_stage.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <exception>

#include "pipeline/common/error.h"
#include "pipeline/draft/set/put_back.h"
#include "pipeline/draft/set/seam_proposals.h"
#include "pipeline/job/files/piece_files.h"
#include "pipeline/job/plan/job_plan.h"
#include "pipeline/job/plan/panel_names.h"
#include "pipeline/job/stages/sewing_stage.h"

namespace chalkfold::job {
namespace {

std::string named(const draft::SeamReport& seam) {
  return fmt::format("Seam {} ({} with {})", seam.asked.number, draft::to_text(seam.asked.a),
                     draft::to_text(seam.asked.b));
}

/// Of the pieces as they are cut at last.
void tell_seams(const std::vector<draft::SeamReport>& seams, Faults& faults) {
  for (const draft::SeamReport& seam : seams) {
    const auto tell = [&](const char* code, std::string seen, const char* remedy) {
      faults.push_back({code, Severity::warning, std::move(seen), remedy, {}, seam.asked.a.piece});
    };
    if (seam.verdict == draft::SeamVerdict::does_not_meet)
      tell("seam-does-not-meet",
           fmt::format("{} does not meet: {:.1f} mm and {:.1f} mm, {:.1f} mm off the wanted ease of {:g} mm; tolerance "
                       "{:.1f} mm.",
                       named(seam), seam.a.length, seam.b.length, std::abs(seam.difference - seam.asked.ease),
                       seam.asked.ease, seam.tolerance),
           "Check the pairing and the ease; let the job adjust the set; or ease it in by hand.");
    if (!seam.marks_meet())
      tell("seam-marks-differ",
           fmt::format("{}: its match marks do not come together; see the intervals in the report.", named(seam)),
           "Compare the chalk on both panels; a mark may have been missed, or the seam runs the other way (runs).");
  }
}

/// What cannot be drawn as it was adjusted (over ten metres on paper) is put back as it was drafted; what cannot be written stops the run.
output::PieceRecord write_or_put_back(const RunOptions& options, const std::vector<draft::Piece>& drafted,
                                      std::size_t piece, const draft::PieceMoves& moves, const draft::SeamOptions& seam,
                                      draft::AdjustedSet& set) {
  const auto write = [&] {
    output::PieceRecord record{set.pieces[piece], {}, {}};
    write_adjusted(options.out, record, moves, options.files);
    return record;
  };
  try {
    return write();
  } catch (const FileError&) {
    throw;
  } catch (const std::exception& e) {
    const draft::Piece& own = drafted[piece];
    draft::put_back(
        set, drafted, piece,
        {{"adjustment-failed", Severity::refusal, fmt::format("{}: it could not be drawn ({}).", own.name, e.what()),
          "Look at the move that the seams ask of it; give that seam an ease, or fix another piece.", own.measured_on,
          own.name}},
        seam);
    return write();
  }
}

void write_pieces(const RunOptions& options, const std::vector<draft::Piece>& drafted, const draft::SeamOptions& seam,
                  draft::AdjustedSet& set, output::SetRecord& record) {
  make_adjusted_folders(options.out);
  for (std::size_t i = 0; i < set.pieces.size(); ++i) {
    const auto moves = std::find_if(set.report.moves.begin(), set.report.moves.end(),
                                    [&](const draft::PieceMoves& m) { return m.piece == set.pieces[i].name; });
    if (moves == set.report.moves.end()) continue;  // refused before
    record.adjusted.push_back(write_or_put_back(options, drafted, i, *moves, seam, set));
  }
  record.set_files = write_set(options.out, record.adjusted, options.files, "adjusted/");
}

/// Names of panels that gave no piece: those of the job, those refused, and the photos that gave none at all.
std::set<std::string> unmeasured(const RunOptions& options, const output::Results& results) {
  std::set<std::string> names;
  std::vector<std::filesystem::path> photos;
  for (const output::PhotoRecord& photo : results.photos) photos.emplace_back(photo.name);
  const PanelNames of_photos(photos);
  for (std::size_t i = 0; i < photos.size(); ++i)
    if (has_refusal(results.photos[i].faults)) names.insert(of_photos.base(i));
  for (const output::PanelRecord& record : results.panels) names.insert(record.panel.name);
  if (options.job)
    for (const JobPanel& panel : options.job->panels) names.insert(panel.name);
  for (const output::PieceRecord& record : results.pieces) names.erase(record.piece.name);
  return names;
}

/// The pieces, then a refused one for each panel that gave none: a seam that names it falls, the others go on.
std::vector<draft::Piece> pieces_of(const RunOptions& options, const output::Results& results) {
  std::vector<draft::Piece> pieces;
  for (const output::PieceRecord& record : results.pieces) pieces.push_back(record.piece);
  for (const std::string& name : unmeasured(options, results)) {
    pieces.emplace_back();
    pieces.back().name = name;
    pieces.back().faults.push_back(
        {"not-measured", Severity::refusal, "its panel was not measured", "Photograph it again.", {}, name});
  }
  return pieces;
}

/// An exception of the adjustment is told, not thrown: the pieces themselves are good.
draft::AdjustedSet adjusted_or_told(const std::vector<draft::Piece>& pieces, const std::vector<draft::SeamAsked>& seams,
                                    const draft::AdjustOptions& options) {
  try {
    return draft::adjust_set(pieces, seams, options);
  } catch (const UserError&) {
    throw;
  } catch (const std::exception& e) {
    draft::AdjustedSet set;
    set.report = draft::report_set(pieces, seams, options.seam);
    set.report.reason = "it failed";
    set.report.faults.push_back({"adjustment-failed",
                                 Severity::refusal,
                                 fmt::format("The set could not be adjusted ({}).", e.what()),
                                 "Use the pieces as they are, or leave seams out to see which one it is.",
                                 {},
                                 {}});
    return set;
  }
}

}  // namespace

draft::AdjustOptions adjust_options_of(const RunOptions& options, const output::Results& results) {
  draft::AdjustOptions o;
  o.mitre_limit = options.draft.mitre_limit;
  if (results.print_scale_sigma > 0) o.seam.scale_sigma = results.print_scale_sigma;
  if (!options.job) return o;
  const JobSet& set = options.job->set;
  o.wear = set.wear.value_or(o.wear);
  o.wear_kind = set.wear_kind.value_or(o.wear_kind);
  o.seam.tolerance = set.tolerance.value_or(o.seam.tolerance);
  o.seam.tolerance_share = set.tolerance_share.value_or(o.seam.tolerance_share);
  o.seam.mark_tolerance = set.mark_tolerance.value_or(o.seam.mark_tolerance);
  o.move_limit = set.move_limit.value_or(o.move_limit);
  for (const output::PieceRecord& record : results.pieces) {
    const JobPanel* panel = panel_of(*options.job, record.piece.name);
    if (!panel) continue;
    if (panel->fixed) o.fixed.insert(record.piece.name);
    if (panel->wear) o.piece_wear[record.piece.name] = *panel->wear;
  }
  return o;
}

void sew_set(const RunOptions& options, output::Results& results) {
  const std::vector<draft::Piece> pieces = pieces_of(options, results);
  const std::vector<draft::SeamAsked> seams = options.job ? options.job->seams : std::vector<draft::SeamAsked>{};
  const auto good =
      std::count_if(pieces.begin(), pieces.end(), [](const draft::Piece& p) { return !has_refusal(p.faults); });
  if (good < 2 && (seams.empty() || good == 0)) return;
  const draft::AdjustOptions adjust = adjust_options_of(options, results);
  const bool wanted = !seams.empty() && options.job->set.adjust.value_or(true);
  draft::AdjustedSet set;
  if (wanted) {
    set = adjusted_or_told(pieces, seams, adjust);
  } else {
    set.report = draft::report_set(pieces, seams, adjust.seam);
    set.report.reason = seams.empty() ? "the job has no seams" : "the job does not want it";
  }
  draft::ProposalOptions proposals;
  proposals.seam = adjust.seam;
  proposals.wear = adjust.wear;
  set.report.proposals = draft::propose_seams(seams, pieces, proposals);
  results.set.emplace();
  results.set->wear = adjust.wear;
  results.set->move_limit = adjust.move_limit;
  if (set.report.adjusted) write_pieces(options, pieces, adjust.seam, set, *results.set);
  results.set->report = std::move(set.report);
  draft::SetReport& report = results.set->report;
  tell_seams(report.adjusted ? report.after : report.seams, report.faults);
  write_sewing_sheet(options, report.adjusted ? report.after : report.seams, results);
  results.faults.insert(results.faults.end(), report.faults.begin(), report.faults.end());
}

void add_written(const output::SetRecord& set, std::set<std::string>& written) {
  for (const output::PieceRecord& record : set.adjusted) written.insert(record.files.begin(), record.files.end());
  written.insert(set.set_files.begin(), set.set_files.end());
}

}  // namespace chalkfold::job
