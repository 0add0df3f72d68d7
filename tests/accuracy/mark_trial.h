// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>

#include "demo/scenes/mark_scene.h"
#include "tests/accuracy/mark_score.h"

namespace chalkfold::accuracy {

struct TrialResult {
  std::string name, material;
  /// that the chalk reaches, see demo::chalk_tone
  double contrast = 0;
  MarkScore score;
  /// why the panel was not measured; empty when it was
  std::string fault;
};

/// One render through find_sheets, solve_survey and trace_panels, as a user who measured check bars and thickness would
/// run it (the picture goes through JPEG), and its marks scored. With a folder, the photograph and its truth are written
/// there as NAME.jpg and NAME.truth.json.
TrialResult run_trial(std::uint64_t seed, const demo::MarkSceneOptions& options,
                      const std::optional<std::filesystem::path>& folder = std::nullopt);

}  // namespace chalkfold::accuracy
