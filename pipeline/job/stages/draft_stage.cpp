// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/stages/draft_stage.h"

#include <fmt/format.h>

#include <algorithm>
#include <exception>
#include <optional>
#include <set>

#include "pipeline/common/error.h"
#include "pipeline/common/nearest_name.h"
#include "pipeline/common/utf8.h"
#include "pipeline/job/files/piece_files.h"
#include "pipeline/job/files/write_files.h"
#include "pipeline/job/plan/job_plan.h"
#include "pipeline/job/plan/panel_kind.h"
#include "pipeline/job/plan/panel_names.h"
#include "pipeline/job/stages/compare_stage.h"
#include "pipeline/job/stages/side_by_side.h"
#include "pipeline/output/json/read_panel_json.h"

namespace chalkfold::job {
namespace {
namespace fs = std::filesystem;

/// The files of an earlier run that belong to a panel which is drafted anew in the same folder.
void keep_files(const fs::path& out, const fs::path& file, output::PanelRecord& record) {
  std::error_code error;
  const fs::path own = fs::weakly_canonical(file, error), folder = fs::weakly_canonical(out / "measured", error);
  std::erase_if(record.crops, [&](const output::CropRecord& crop) { return !fs::exists(out / crop.picture, error); });
  if (own.parent_path() != folder) return;
  for (const char* ending : {".dxf", ".svg", ".json"}) {
    const std::string place = "measured/" + own.stem().string() + ending;
    if (fs::exists(out / place, error)) record.files.push_back(place);
  }
  const std::string picture = "pictures/" + own.stem().string() + ".jpg";
  if (fs::exists(out / picture, error)) record.picture = picture;
}

draft::Piece failed_piece(const panel::Panel& panel, int number, const char* why) {
  draft::Piece piece;
  piece.name = panel.name;
  piece.number = number;
  piece.faults.push_back({"draft-failed", Severity::refusal, fmt::format("no piece could be drafted from it ({})", why),
                          "Look at the panel's picture; photograph it again if its outline is wrong.", panel.photo,
                          panel.name});
  return piece;
}

bool is_drafted(const output::PanelRecord& record) {
  return output::is_measured(record) && !panel::is_material(record.panel);
}

/// A panel to be drafted and the number of its piece.
struct Task {
  const panel::Panel* panel = nullptr;
  int number = 0;
};

/// The options of one panel's piece: what the run says, then what the job says of it.
draft::DraftOptions options_of(const Task& task, const RunOptions& options) {
  draft::DraftOptions draft = effective_draft(options);
  if (options.job) {
    const JobPanel* panel = panel_of(*options.job, task.panel->name);
    draft = draft_options_of(panel ? *panel : JobPanel{}, *options.job, options.draft, options.existing_allowance);
  }
  draft.number = task.number;
  return draft;
}

/// Those of the command line and of the job.
std::vector<PairOf> pairs_of(const RunOptions& options) {
  std::vector<PairOf> pairs = options.pairs;
  if (!options.job) return pairs;
  for (const JobPanel& panel : options.job->panels) {
    if (panel.pair_of.empty()) continue;
    const bool known = std::any_of(pairs.begin(), pairs.end(), [&](const PairOf& p) {
      return (p.first == panel.name && p.second == panel.pair_of) ||
             (p.second == panel.name && p.first == panel.pair_of);
    });
    if (!known) pairs.push_back({panel.name, panel.pair_of, {}});
  }
  return pairs;
}

draft::Piece drafted(const Task& task, const RunOptions& options) {
  try {
    return draft::draft_piece(*task.panel, options_of(task, options));
  } catch (const UserError&) {
    throw;
  } catch (const std::exception& e) {
    return failed_piece(*task.panel, task.number, e.what());
  }
}

std::pair<draft::Piece, draft::Piece> drafted_pair(const Task& first, const Task& second, const RunOptions& options,
                                                   const draft::PairOptions& pair) {
  try {
    return draft::pair_pieces(*first.panel, *second.panel, options_of(first, options), options_of(second, options),
                              pair);
  } catch (const UserError&) {
    throw;
  } catch (const std::exception& e) {
    return {failed_piece(*first.panel, first.number, e.what()), failed_piece(*second.panel, second.number, e.what())};
  }
}

/// Index of the task of a panel; tasks.size() when it was not measured. Throws UsageError when there is no such panel.
std::size_t task_of(const std::string& name, const RunOptions& options, const std::vector<Task>& tasks,
                    const output::Results& results) {
  for (std::size_t i = 0; i < tasks.size(); ++i)
    if (tasks[i].panel->name == name) return i;
  std::vector<std::string> known;
  for (const output::PanelRecord& record : results.panels) known.push_back(record.panel.name);
  for (const output::PanelRecord& record : results.panels)
    if (record.panel.name == name && panel::is_material(record.panel))
      throw UsageError(fmt::format("--pair: {} is of kind {}, which is not drafted", plain_text(name),
                                   panel::to_string(record.panel.kind)));
  if (std::find(known.begin(), known.end(), name) != known.end()) return tasks.size();
  if (options.job && panel_of(*options.job, name)) return tasks.size();
  const std::string nearest = nearest_name(name, known);
  throw UsageError(fmt::format("--pair: there is no panel {}{}", plain_text(name),
                               nearest.empty() ? "" : fmt::format("; did you mean {}?", plain_text(nearest))));
}

/// The pieces of all pairs, each at its task's place.
void draft_pairs(const RunOptions& options, const std::vector<Task>& tasks, output::Results& results,
                 std::vector<std::optional<draft::Piece>>& pieces) {
  for (const PairOf& pair : pairs_of(options)) {
    const std::size_t first = task_of(pair.first, options, tasks, results),
                      second = task_of(pair.second, options, tasks, results);
    if (first == tasks.size() || second == tasks.size()) {
      results.faults.push_back(
          {"pair-incomplete",
           Severity::warning,
           fmt::format("of the pair {} and {} only one was measured", plain_text(pair.first), plain_text(pair.second)),
           "Photograph the other again; the piece of this one is drafted alone.",
           {},
           {}});
      continue;
    }
    auto [a, b] = drafted_pair(tasks[first], tasks[second], options, pair.options);
    pieces[first] = std::move(a);
    pieces[second] = std::move(b);
  }
}

/// What cannot be drawn (a piece of ten metres on paper) is a refusal of this piece; what cannot be written stops the run.
void write_or_refuse(const RunOptions& options, const panel::Panel& panel, output::PieceRecord& record) {
  try {
    write_piece(options.out, record, options.files);
  } catch (const FileError&) {
    throw;
  } catch (const std::exception& e) {
    record = {failed_piece(panel, record.piece.number, e.what()), {}, {}};
  }
}

/// Panels of the job that no photo showed. One that a photo showed and that was refused is told of already.
void tell_missing(const RunOptions& options, output::Results& results) {
  if (!options.job) return;
  const Faults told = output::all_faults(results);
  const auto refused = [&](const std::string& name) {
    return std::any_of(told.begin(), told.end(),
                       [&](const Fault& f) { return f.severity == Severity::refusal && f.panel == name; });
  };
  for (const JobPanel& panel : options.job->panels) {
    const bool seen = std::any_of(results.panels.begin(), results.panels.end(), [&](const output::PanelRecord& r) {
      return panel_of(*options.job, r.panel.name) == &panel;
    });
    if (seen || refused(panel.name)) continue;
    results.faults.push_back({"panel-not-found",
                              Severity::refusal,
                              fmt::format("no photo of the job shows the panel {}{}", panel.name,
                                          panel.tag ? fmt::format(", tag {}", *panel.tag) : ""),
                              "Is its photo listed, and its tag flat, uncovered and nearest to it?",
                              {},
                              panel.name});
  }
}

/// An earlier run measured it as a panel: it is not drafted, but no ring was looked for.
void tell_without_rings(const RunOptions& options, output::Results& results) {
  if (!options.job) return;
  for (output::PanelRecord& record : results.panels) {
    const JobPanel* of = panel_of(*options.job, record.panel.name);
    if (!of || of->kind == panel::PanelKind::panel || panel::is_material(record.panel) ||
        record.panel.outline.points.empty())
      continue;
    take_kind(record.panel, of, &*options.job);
    record.panel.faults.push_back(
        {"flaws-not-looked-for", Severity::warning,
         fmt::format("the job says that it is of kind {}, but an earlier run measured it as a "
                     "panel: rings drawn on it are not among its flaws",
                     panel::to_string(of->kind)),
         "Give its photos in the job rather than its measured file.", record.panel.photo, record.panel.name});
  }
}

void add_allowance_fault(const RunOptions& options, output::Results& results) {
  if (options.existing_allowance || options.draft.existing_measured || results.pieces.empty()) return;
  if (options.job && (options.job->defaults.existing_allowance || options.job->defaults.existing_measured)) return;
  const double allowance = options.draft.allowance;
  results.faults.push_back(
      {"allowance-assumed",
       Severity::note,
       fmt::format("the old panels' seam allowance was not given; {:g} mm was taken, so the cut "
                   "lines lie where the old edges were",
                   allowance),
       "Measure from the old edge to the stitch holes and give it, existing_allowance_mm in the job "
       "or --existing-allowance-mm; 0 for panels that were cut on the seam.",
       {},
       {}});
}

}  // namespace

std::vector<output::PanelRecord> read_measured(const RunOptions& options) {
  std::vector<output::PanelRecord> measured;
  for (const fs::path& file : options.measured) {
    measured.push_back(output::read_panel_json(read_named_file(file), plain_text(file.string())));
    keep_files(options.out, file, measured.back());
  }
  return measured;
}

void take_measured(std::vector<output::PanelRecord> measured, output::Results& results) {
  std::set<std::string> taken;
  for (const output::PanelRecord& record : results.panels) taken.insert(lower_case(record.panel.name));
  for (output::PanelRecord& record : measured) {
    record.panel.name = safe_name(record.panel.name);
    const std::string base = record.panel.name;
    for (int i = 2; !taken.insert(lower_case(record.panel.name)).second; ++i)
      record.panel.name = fmt::format("{}-{}", base, i);
    results.panels.push_back(std::move(record));
  }
}

void draft_pieces(const RunOptions& options, Progress& progress, output::Results& results) {
  tell_missing(options, results);
  tell_without_rings(options, results);
  const auto wanted = std::count_if(results.panels.begin(), results.panels.end(), is_drafted);
  if (wanted == 0) return;
  make_piece_folders(options.out);
  Stretch stretch(progress, "drafting pieces", static_cast<std::size_t>(wanted));
  std::vector<Task> tasks;
  for (const output::PanelRecord& record : results.panels)
    if (is_drafted(record)) tasks.push_back({&record.panel, static_cast<int>(tasks.size()) + 1});
  std::vector<std::optional<draft::Piece>> pieces(tasks.size());
  draft_pairs(options, tasks, results, pieces);
  std::vector<output::PieceRecord> records(tasks.size());
  for_each_number(tasks.size(), threads_in_force(options), [&](std::size_t i) {
    records[i].piece = pieces[i] ? std::move(*pieces[i]) : drafted(tasks[i], options);
    compensate(records[i].piece, *tasks[i].panel, options, results);
    write_or_refuse(options, *tasks[i].panel, records[i]);
    stretch.advance(tasks[i].panel->name);
  });
  results.pieces = std::move(records);
  results.set_files = write_set(options.out, results.pieces, options.files);
  add_allowance_fault(options, results);
}

}  // namespace chalkfold::job
