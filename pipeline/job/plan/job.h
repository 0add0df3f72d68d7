// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "pipeline/draft/layout/material.h"
#include "pipeline/draft/piece/draft_piece.h"
#include "pipeline/draft/set/set_adjustment.h"
#include "pipeline/draft/sewing/sewing_order.h"
#include "pipeline/survey/survey.h"

namespace chalkfold::job {

/// What a job may say of one panel, or of all (defaults).
struct PanelSettings {
  std::optional<draft::Side> side;
  /// mm
  std::optional<double> thickness;
  std::optional<draft::Symmetric> symmetric;
  std::optional<draft::Fold> fold;
  /// mm
  std::optional<double> allowance;
  /// mm
  std::optional<double> existing_allowance;
  std::optional<bool> existing_measured;
  std::optional<int> quantity;
  std::optional<std::string> material;
};

/// What a panel is compared with: a file (see read_shape), or its size when it was new.
struct JobReference {
  std::filesystem::path file;
  /// mm, along and across the grain; instead of a file
  std::optional<std::array<double, 2>> size;
};

struct JobPanel {
  std::string name, part;
  panel::PanelKind kind = panel::PanelKind::panel;
  /// empty: known by its tag alone
  std::vector<std::filesystem::path> photos;
  std::optional<int> tag;
  /// another panel's name, or empty
  std::string pair_of;
  std::optional<double> grain_deg;
  std::optional<JobReference> reference;
  /// scale the piece for the change against the reference
  bool compensate = false;
  /// mm, by edge number
  std::map<int, double> edge_allowances;
  /// for the order of sewing
  std::optional<draft::PieceRole> role;
  /// set adjustment leaves its piece as it is
  bool fixed = false;
  /// share; its own instead of the set's
  std::optional<double> wear;
  PanelSettings own;
};

/// What a job says of the set as a whole.
struct JobSet {
  /// unset: when there are seams
  std::optional<bool> adjust;
  /// share of an edge's length
  std::optional<double> wear;
  std::optional<draft::WearKind> wear_kind;
  /// mm
  std::optional<double> tolerance, mark_tolerance;
  std::optional<double> tolerance_share;
  /// mm
  std::optional<double> move_limit;
};

/// A job: which photos, which panels, and how they are drafted.
struct JobFile {
  std::string job;
  /// only what the job gives
  survey::PrintCheck print;
  std::vector<survey::TapeDistance> tape;
  /// that took all photos of which no other is said; empty: it is found out by EXIF
  std::string phone;
  /// the phone's lens profile, or empty
  std::filesystem::path lens;
  PanelSettings defaults;
  /// those of the panels included, each once, in order
  std::vector<std::filesystem::path> photos;
  /// of single photos, by their paths in normal form
  std::map<std::filesystem::path, survey::PhotoSaid> said;
  std::vector<JobPanel> panels;
  /// by the panels' `material`
  std::map<std::string, draft::MaterialOptions> materials;
  draft::StitchOptions stitch;
  /// measured/NAME.json of earlier runs
  std::vector<std::filesystem::path> measured;
  /// numbered; those without a number of their own in turn
  std::vector<draft::SeamAsked> seams;
  JobSet set;
};

}  // namespace chalkfold::job
