// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/stages/material_stage.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "pipeline/common/nearest_name.h"
#include "pipeline/common/utf8.h"
#include "pipeline/common/write_file.h"
#include "pipeline/draft/layout/material.h"
#include "pipeline/job/plan/job_plan.h"
#include "pipeline/job/plan/panel_names.h"
#include "pipeline/output/drawing/layout_svg.h"

namespace chalkfold::job {
namespace {

void tell_without_material(const std::vector<draft::Piece>& pieces, output::Results& results) {
  std::string names;
  for (const draft::Piece& piece : pieces)
    if (piece.material.empty() && !has_refusal(piece.faults))
      names += fmt::format("{}{}", names.empty() ? "" : ", ", plain_text(piece.name));
  if (names.empty()) return;
  results.faults.push_back({"material-not-given",
                            Severity::note,
                            fmt::format("these pieces name no material and are in no roll and no hide: {}", names),
                            "Give material to their panels in the job.",
                            {},
                            {}});
}

void tell_unused(const RunOptions& options, const std::vector<draft::MaterialNeed>& needs, output::Results& results) {
  if (!options.job) return;
  std::vector<std::string> used;
  used.reserve(needs.size());
  for (const draft::MaterialNeed& need : needs) used.push_back(need.material);
  for (const auto& [name, known] : options.job->materials) {
    if (std::find(used.begin(), used.end(), name) != used.end()) continue;
    const std::string nearest = nearest_name(name, used);
    results.faults.push_back(
        {"material-not-used",
         Severity::warning,
         fmt::format("the job knows a material \"{}\", but no piece is made of it{}", plain_text(name),
                     nearest.empty() ? "" : fmt::format("; there is \"{}\"", plain_text(nearest))),
         "Write the material's name in the same way under materials and at the panels.",
         {},
         {}});
  }
}

/// The material that a measured hide or offcut is of: as its panel in the job says; else the only one there is.
std::string material_of(const panel::Panel& panel, const RunOptions& options,
                        const std::vector<draft::MaterialNeed>& needs) {
  const JobPanel* of = options.job ? panel_of(*options.job, panel.name) : nullptr;
  if (of && of->own.material) return *of->own.material;
  if (options.job && options.job->defaults.material) return *options.job->defaults.material;
  return needs.size() == 1 ? needs.front().material : "";
}

/// Enters the measured hides and offcuts at their materials; those of none are told.
void enter_measured(const RunOptions& options, const std::vector<draft::MaterialNeed>& needs,
                    output::Results& results) {
  for (std::size_t i = 0; i < results.panels.size(); ++i) {
    const output::PanelRecord& record = results.panels[i];
    if (!output::is_measured(record) || !panel::is_material(record.panel) || results.pieces.empty()) continue;
    const std::string material = material_of(record.panel, options, needs);
    const auto need = std::find_if(results.materials.begin(), results.materials.end(),
                                   [&](const output::MaterialRecord& m) { return m.need.material == material; });
    if (need != results.materials.end()) {
      need->measured.push_back(i);
      continue;
    }
    results.faults.push_back(
        {"hide-not-compared",
         Severity::note,
         material.empty() ? "the job does not say of which material it is"
                          : fmt::format("no piece is of its material, \"{}\"", plain_text(material)),
         "Give material to it and to the panels in the job; then its area is compared with theirs.",
         {},
         record.panel.name});
  }
}

void write_needs(const RunOptions& options, const std::vector<draft::Piece>& pieces,
                 std::vector<draft::MaterialNeed> needs, output::Results& results) {
  tell_without_material(pieces, results);
  std::set<std::string> taken;
  for (draft::MaterialNeed& need : needs) {
    output::MaterialRecord record{std::move(need), {}, {}};
    const std::string svg = output::layout_svg(record.need, pieces);
    if (!svg.empty()) {
      const std::string base = safe_name(record.need.material);
      std::string name = base;
      for (int i = 2; !taken.insert(lower_case(name)).second; ++i) name = fmt::format("{}-{}", base, i);
      record.picture = "layout/" + name + ".svg";
      make_folder(options.out / "layout");
      write_file_atomically(options.out / record.picture, svg);
    }
    results.materials.push_back(std::move(record));
  }
}

}  // namespace

void plan_material(const RunOptions& options, output::Results& results) {
  const std::vector<draft::Piece> pieces = output::last_pieces(results);
  const std::map<std::string, draft::MaterialOptions> none;
  std::vector<draft::MaterialNeed> needs = draft::material_needs(pieces, options.job ? options.job->materials : none);
  tell_unused(options, needs, results);
  const std::vector<draft::MaterialNeed> all = needs;
  if (!needs.empty()) write_needs(options, pieces, std::move(needs), results);
  enter_measured(options, all, results);
}

}  // namespace chalkfold::job
