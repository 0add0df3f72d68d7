// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/material_stage.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "pipeline/common/nearest_name.h"
#include "pipeline/common/utf8.h"
#include "pipeline/common/write_file.h"
#include "pipeline/draft/material.h"
#include "pipeline/job/panel_names.h"
#include "pipeline/output/layout_svg.h"

namespace chalkfold {
namespace {

void tell_without_material(const std::vector<Piece>& pieces, Results& results) {
  std::string names;
  for (const Piece& piece : pieces)
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

void tell_unused(const RunOptions& options, const std::vector<MaterialNeed>& needs, Results& results) {
  if (!options.job) return;
  std::vector<std::string> used;
  for (const MaterialNeed& need : needs) used.push_back(need.material);
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

}  // namespace

void plan_material(const RunOptions& options, Results& results) {
  const std::vector<Piece> pieces = last_pieces(results);
  const std::map<std::string, MaterialOptions> none;
  std::vector<MaterialNeed> needs = material_needs(pieces, options.job ? options.job->materials : none);
  tell_unused(options, needs, results);
  if (needs.empty()) return;
  tell_without_material(pieces, results);
  std::set<std::string> taken;
  for (MaterialNeed& need : needs) {
    MaterialRecord record{std::move(need), {}};
    const std::string svg = layout_svg(record.need, pieces);
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

}  // namespace chalkfold
