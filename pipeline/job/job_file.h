// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "pipeline/draft/draft_piece.h"
#include "pipeline/draft/material.h"
#include "pipeline/draft/set_adjustment.h"
#include "pipeline/draft/sewing_order.h"
#include "pipeline/survey/survey.h"

namespace chalkfold {

/// What a job may say of one panel, or of all (defaults).
struct PanelSettings {
  std::optional<Side> side;
  std::optional<double> thickness;  ///< mm
  std::optional<Symmetric> symmetric;
  std::optional<Fold> fold;
  std::optional<double> allowance;           ///< mm
  std::optional<double> existing_allowance;  ///< mm
  std::optional<bool> existing_measured;
  std::optional<int> quantity;
  std::optional<std::string> material;
};

/// What a panel is compared with: a file (see read_shape), or its size when it was new.
struct JobReference {
  std::filesystem::path file;
  std::optional<std::array<double, 2>> size;  ///< mm, along and across the grain; instead of a file
};

struct JobPanel {
  std::string name, part;
  PanelKind kind = PanelKind::panel;
  std::vector<std::filesystem::path> photos;  ///< empty: known by its tag alone
  std::optional<int> tag;
  std::string pair_of;  ///< another panel's name, or empty
  std::optional<double> grain_deg;
  std::optional<JobReference> reference;
  bool compensate = false;                ///< scale the piece for the change against the reference
  std::map<int, double> edge_allowances;  ///< mm, by edge number
  std::optional<PieceRole> role;          ///< for the order of sewing
  bool fixed = false;                     ///< set adjustment leaves its piece as it is
  std::optional<double> wear;             ///< share; its own instead of the set's
  PanelSettings own;
};

/// What a job says of the set as a whole.
struct JobSet {
  std::optional<bool> adjust;  ///< unset: when there are seams
  std::optional<double> wear;  ///< share of an edge's length
  std::optional<WearKind> wear_kind;
  std::optional<double> tolerance, mark_tolerance;  ///< mm
  std::optional<double> tolerance_share;
  std::optional<double> move_limit;  ///< mm
};

/// A job: which photos, which panels, and how they are drafted.
struct JobFile {
  std::string job;
  PrintCheck print;  ///< only what the job gives
  std::vector<TapeDistance> tape;
  std::string phone;           ///< that took all photos of which no other is said; empty: it is found out by EXIF
  std::filesystem::path lens;  ///< the phone's lens profile, or empty
  PanelSettings defaults;
  std::vector<std::filesystem::path> photos;        ///< those of the panels included, each once, in order
  std::map<std::filesystem::path, PhotoSaid> said;  ///< of single photos, by their paths in normal form
  std::vector<JobPanel> panels;
  std::map<std::string, MaterialOptions> materials;  ///< by the panels' `material`
  StitchOptions stitch;
  std::vector<std::filesystem::path> measured;  ///< measured/NAME.json of earlier runs
  std::vector<SeamAsked> seams;                 ///< numbered; those without a number of their own in turn
  JobSet set;
};

/// Reads a job file's bytes: JSON with comments, as job.schema.json describes it. Paths are taken from `folder`, the job file's own.
/// Throws UsageError that lists every fault at once, a line each: file, line, key, what was expected and the nearest known key.
/// Names must be safe file names and differ by more than the case of their letters.
JobFile read_job_file(std::string_view bytes, const std::string& where, const std::filesystem::path& folder);

/// Options of one panel: `base`, then the job's defaults, then the panel's own. `existing`: what the command line says of the old
/// allowance; where nobody gives it, it is the new one, so that the cut line stays where the old edge was.
DraftOptions draft_options_of(const JobPanel& panel, const JobFile& job, const DraftOptions& base,
                              std::optional<double> existing = {});

}  // namespace chalkfold
