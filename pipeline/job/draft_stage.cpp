// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/draft_stage.h"

#include <fmt/format.h>

#include <algorithm>
#include <exception>
#include <fstream>
#include <iterator>
#include <set>

#include "pipeline/common/error.h"
#include "pipeline/common/utf8.h"
#include "pipeline/job/panel_names.h"
#include "pipeline/job/piece_files.h"
#include "pipeline/output/read_panel_json.h"

namespace chalkfold {
namespace {
namespace fs = std::filesystem;

std::string whole_file(const fs::path& file) {
  std::error_code error;
  if (fs::is_directory(file, error)) throw FileError(fmt::format("{} is a folder: name the files in it, FOLDER/measured/*.json", plain_text(file.string())));
  std::ifstream stream(file, std::ios::binary);
  if (!stream) throw FileError(fmt::format("cannot read {}: check the name and the folder", plain_text(file.string())));
  std::string bytes{std::istreambuf_iterator<char>(stream), std::istreambuf_iterator<char>()};
  if (stream.bad()) throw FileError(fmt::format("{} could not be read to its end", plain_text(file.string())));
  return bytes;
}

std::string lower(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(), [](unsigned char c) { return c < 128 ? static_cast<char>(std::tolower(c)) : static_cast<char>(c); });
  return text;
}

/// The files of an earlier run that belong to a panel which is drafted anew in the same folder.
void keep_files(const fs::path& out, const fs::path& file, PanelRecord& record) {
  std::error_code error;
  const fs::path own = fs::weakly_canonical(file, error), folder = fs::weakly_canonical(out / "measured", error);
  std::erase_if(record.crops, [&](const CropRecord& crop) { return !fs::exists(out / crop.picture, error); });
  if (own.parent_path() != folder) return;
  for (const char* ending : {".dxf", ".svg", ".json"}) {
    const std::string place = "measured/" + own.stem().string() + ending;
    if (fs::exists(out / place, error)) record.files.push_back(place);
  }
  const std::string picture = "pictures/" + own.stem().string() + ".jpg";
  if (fs::exists(out / picture, error)) record.picture = picture;
}

PieceRecord drafted(const Panel& panel, DraftOptions options, int number) {
  PieceRecord record;
  options.number = number;
  try {
    record.piece = draft_piece(panel, options);
  } catch (const UserError&) {
    throw;
  } catch (const std::exception& e) {
    record.piece = {};
    record.piece.name = panel.name;
    record.piece.number = number;
    record.piece.faults.push_back({"draft-failed", Severity::refusal, fmt::format("no piece could be drafted from it ({})", e.what()),
                                   "Look at the panel's picture; photograph it again if its outline is wrong.", panel.photo, panel.name});
  }
  return record;
}

void add_allowance_fault(const RunOptions& options, Results& results) {
  if (options.existing_allowance || options.draft.existing_measured || results.pieces.empty()) return;
  const double allowance = options.draft.allowance;
  results.faults.push_back({"allowance-assumed", Severity::note,
                            fmt::format("the old panels' seam allowance was not given; {:g} mm was taken, so the cut lines lie where the old edges were", allowance),
                            "Measure from the old edge to the stitch holes and give it with --existing-allowance-mm; 0 for panels that were cut on the seam.", {}, {}});
}

}  // namespace

std::vector<PanelRecord> read_measured(const RunOptions& options) {
  std::vector<PanelRecord> measured;
  for (const fs::path& file : options.measured) {
    measured.push_back(read_panel_json(whole_file(file), plain_text(file.string())));
    keep_files(options.out, file, measured.back());
  }
  return measured;
}

void take_measured(std::vector<PanelRecord> measured, Results& results) {
  std::set<std::string> taken;
  for (const PanelRecord& record : results.panels) taken.insert(lower(record.panel.name));
  for (PanelRecord& record : measured) {
    record.panel.name = safe_name(record.panel.name);
    const std::string base = record.panel.name;
    for (int i = 2; !taken.insert(lower(record.panel.name)).second; ++i) record.panel.name = fmt::format("{}-{}", base, i);
    results.panels.push_back(std::move(record));
  }
}

void draft_pieces(const RunOptions& options, Progress& progress, Results& results) {
  const DraftOptions draft = effective_draft(options);
  const auto wanted = std::count_if(results.panels.begin(), results.panels.end(), is_measured);
  if (wanted == 0) return;
  make_piece_folders(options.out);
  progress.begin("drafting pieces", static_cast<std::size_t>(wanted));
  try {
    int number = 0;
    for (const PanelRecord& record : results.panels) {
      if (!is_measured(record)) continue;
      results.pieces.push_back(drafted(record.panel, draft, ++number));
      write_piece(options.out, results.pieces.back(), options.files);
      progress.advance(record.panel.name);
    }
    results.set_files = write_set(options.out, results.pieces, options.files);
  } catch (...) {
    progress.end();
    throw;
  }
  progress.end();
  add_allowance_fault(options, results);
}

}  // namespace chalkfold
