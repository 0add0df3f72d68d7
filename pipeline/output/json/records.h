// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "calib/lens.h"
#include "pipeline/common/fault.h"
#include "pipeline/draft/change/dimensional_change.h"
#include "pipeline/draft/layout/material.h"
#include "pipeline/draft/piece/piece.h"
#include "pipeline/draft/set/set_adjustment.h"
#include "pipeline/draft/sewing/sewing_order.h"
#include "pipeline/panel/panel.h"

namespace chalkfold::output {

/// One sheet as one photo shows it.
struct SheetRecord {
  int number = 0;
  int corners_used = 0, corners_dropped = 0, corners_outside = 0;
  /// Gaussian sigma of the sheet's own edges
  double blur_px = 0;
  /// mean side of a square
  double square_px = 0;
};

/// How the survey placed one photo's camera.
struct CameraRecord {
  /// index into Results::lenses
  int lens = 0;
  /// photos of one setup have the same number
  int setup = 0;
  int corners_used = 0, corners_dropped = 0;
  double reprojection_rms_px = 0;
  double tilt_deg = 0;
  /// mm above the table
  double height = 0;
  /// in the middle of the photo
  double mm_per_px = 0;
};

struct PhotoRecord {
  std::string name, sha256;
  /// of the phone, as EXIF gives them
  std::string make, model;
  double focal_mm = 0, focal_35mm = 0, digital_zoom = 0;
  int orientation = 1;
  /// px, upright; 0 when it could not be read
  int width = 0, height = 0;
  /// share of the rows that were decoded
  double intact = 0;
  std::vector<SheetRecord> sheets;
  std::vector<int> tags;
  /// empty when the survey could not use the photo
  std::optional<CameraRecord> camera;
  /// names of the panels measured in it
  std::vector<std::string> panels;
  Faults faults;
};

/// A picture cut out of the photo around something written, for a person to read.
struct CropRecord {
  /// a Writing, or the number beside a MatchMark
  enum class Of { writing, number };
  Of of = Of::writing;
  /// into Marks::writings or Marks::matches
  std::size_t index = 0;
  /// relative to the output folder
  std::string picture;
};

struct PanelRecord {
  panel::Panel panel;
  /// mm
  double thickness_sigma = 0;
  /// relative to the output folder; empty when the panel was refused
  std::vector<std::string> files;
  /// relative to the output folder, or empty
  std::string picture;
  std::vector<CropRecord> crops;
  /// of a panel joined from several; otherwise panel.photo is the one
  std::vector<std::string> photos;
  /// against the job's reference
  std::optional<draft::DimensionalChange> change;
  /// of it; relative to the output folder, or empty
  std::string change_picture;
};

/// A drafted piece and what was written of it.
struct PieceRecord {
  draft::Piece piece;
  /// relative to the output folder; empty when the piece was refused
  std::vector<std::string> files;
  /// what symmetrising or pairing moved; relative to the output folder, or empty
  std::string change_picture;
};

/// What the set takes of one material. Indices of its pieces are into Results::pieces.
struct MaterialRecord {
  draft::MaterialNeed need;
  /// the layout on a roll; relative to the output folder, or empty
  std::string picture;
  /// hides and offcuts of it that were measured, indices into Results::panels
  std::vector<std::size_t> measured;
};

/// The hides and offcuts of one material that were measured, against what the set takes: areas only, nothing is laid.
struct MeasuredStock {
  /// mm2, of all of them: flaws and holes taken off
  double usable = 0;
  /// mm2, see usable_area_U
  double usable_U = 0;
  /// mm2, the set's cut area / the usable fraction
  double needed = 0;
};

/// The order of sewing, and the seams that its steps point into.
struct SewingRecord {
  std::vector<draft::SeamReport> seams;
  /// its roles are in the order of Results::pieces
  draft::SewingSheet sheet;
  /// PDF; relative to the output folder
  std::string file;
};

/// How the pieces go together, and the adjusted ones.
struct SetRecord {
  /// its faults are among those of the run
  draft::SetReport report;
  /// share, mm: in force
  double wear = 0, move_limit = 0;
  /// a piece each, when there was an adjustment; change_picture shows its moves
  std::vector<PieceRecord> adjusted;
  /// of the adjusted pieces side by side
  std::vector<std::string> set_files;
};

/// Everything that one run has to say; what results.json, the report and the summary are made from.
struct Results {
  int exit = 0;
  /// all that shapes the numbers, with the values in force
  nlohmann::ordered_json options = nlohmann::ordered_json::object();
  /// in the order given
  std::vector<PhotoRecord> photos;
  std::vector<calib::Lens> lenses;
  double print_scale_x = 1, print_scale_y = 1, print_scale_sigma = 0;
  /// of all photos together
  double reprojection_rms_px = 0;
  /// in the order of their photos
  std::vector<PanelRecord> panels;
  /// in the order of their panels
  std::vector<PieceRecord> pieces;
  /// all pieces side by side; relative to the output folder
  std::vector<std::string> set_files;
  /// of two pieces and more, or a job with seams
  std::optional<SetRecord> set;
  std::vector<MaterialRecord> materials;
  /// empty without seams
  std::optional<SewingRecord> sewing;
  /// of the run as a whole; photos, panels, pieces, materials and the sewing sheet carry their own
  Faults faults;
};

/// A panel was measured when it has an outline and no refusal.
bool is_measured(const PanelRecord& record);

/// The photos that a panel was measured in.
std::vector<std::string> photo_names(const PanelRecord& record);

/// Faults of the run, the photos, the panels each with its dimensional change, the pieces, the materials and the sewing sheet, in that
/// order. A comparison that was refused refuses no panel: it is among the faults of the run (not-compared), not here a second time.
Faults all_faults(const Results& results);

/// The pieces as they are cut at last, in the order of Results::pieces: the adjusted one where there is one.
std::vector<draft::Piece> last_pieces(const Results& results);

/// Of the record's measured hides.
MeasuredStock measured_stock(const MaterialRecord& record, const Results& results);

}  // namespace chalkfold::output
