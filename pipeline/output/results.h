// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "calib/lens.h"
#include "pipeline/common/fault.h"
#include "pipeline/draft/dimensional_change.h"
#include "pipeline/draft/material.h"
#include "pipeline/draft/piece.h"
#include "pipeline/draft/set_adjustment.h"
#include "pipeline/draft/sewing_order.h"
#include "pipeline/trace/panel.h"

namespace chalkfold {

/// One sheet as one photo shows it.
struct SheetRecord {
  int number = 0;
  int corners_used = 0, corners_dropped = 0, corners_outside = 0;
  double blur_px = 0;    ///< Gaussian sigma of the sheet's own edges
  double square_px = 0;  ///< mean side of a square
};

/// How the survey placed one photo's camera.
struct CameraRecord {
  int lens = 0;   ///< index into Results::lenses
  int setup = 0;  ///< photos of one setup have the same number
  int corners_used = 0, corners_dropped = 0;
  double reprojection_rms_px = 0;
  double tilt_deg = 0;
  double height = 0;     ///< mm above the table
  double mm_per_px = 0;  ///< in the middle of the photo
};

struct PhotoRecord {
  std::string name, sha256;
  std::string make, model;  ///< of the phone, as EXIF gives them
  double focal_mm = 0, focal_35mm = 0, digital_zoom = 0;
  int orientation = 1;
  int width = 0, height = 0;  ///< px, upright; 0 when it could not be read
  double intact = 0;          ///< share of the rows that were decoded
  std::vector<SheetRecord> sheets;
  std::vector<int> tags;
  std::optional<CameraRecord> camera;  ///< empty when the survey could not use the photo
  std::vector<std::string> panels;     ///< names of the panels measured in it
  Faults faults;
};

/// A picture cut out of the photo around something written, for a person to read.
struct CropRecord {
  enum class Of { writing, number };  ///< a Writing, or the number beside a MatchMark
  Of of = Of::writing;
  std::size_t index = 0;  ///< into Marks::writings or Marks::matches
  std::string picture;    ///< relative to the output folder
};

struct PanelRecord {
  Panel panel;
  double thickness_sigma = 0;      ///< mm
  std::vector<std::string> files;  ///< relative to the output folder; empty when the panel was refused
  std::string picture;             ///< relative to the output folder, or empty
  std::vector<CropRecord> crops;
  std::vector<std::string> photos;          ///< of a panel joined from several; otherwise panel.photo is the one
  std::optional<DimensionalChange> change;  ///< against the job's reference
  std::string change_picture;               ///< of it; relative to the output folder, or empty
};

/// A drafted piece and what was written of it.
struct PieceRecord {
  Piece piece;
  std::vector<std::string> files;  ///< relative to the output folder; empty when the piece was refused
  std::string change_picture;      ///< what symmetrising or pairing moved; relative to the output folder, or empty
};

/// What the set takes of one material. Indices of its pieces are into Results::pieces.
struct MaterialRecord {
  MaterialNeed need;
  std::string picture;                ///< the layout on a roll; relative to the output folder, or empty
  std::vector<std::size_t> measured;  ///< hides and offcuts of it that were measured, indices into Results::panels
};

/// The hides and offcuts of one material that were measured, against what the set takes: areas only, nothing is laid.
struct MeasuredStock {
  double usable = 0;    ///< mm2, of all of them: flaws and holes taken off
  double usable_U = 0;  ///< mm2, see usable_area_U
  double needed = 0;    ///< mm2, the set's cut area / the usable fraction
};

/// The order of sewing, and the seams that its steps point into.
struct SewingRecord {
  std::vector<SeamReport> seams;
  SewingSheet sheet;  ///< its roles are in the order of Results::pieces
  std::string file;   ///< PDF; relative to the output folder
};

/// How the pieces go together, and the adjusted ones.
struct SetRecord {
  SetReport report;                    ///< its faults are among those of the run
  double wear = 0, move_limit = 0;     ///< share, mm: in force
  std::vector<PieceRecord> adjusted;   ///< a piece each, when there was an adjustment; change_picture shows its moves
  std::vector<std::string> set_files;  ///< of the adjusted pieces side by side
};

/// Everything that one run has to say; what results.json, the report and the summary are made from.
struct Results {
  int exit = 0;
  nlohmann::ordered_json options;   ///< all that shapes the numbers, with the values in force
  std::vector<PhotoRecord> photos;  ///< in the order given
  std::vector<Lens> lenses;
  double print_scale_x = 1, print_scale_y = 1, print_scale_sigma = 0;
  double reprojection_rms_px = 0;      ///< of all photos together
  std::vector<PanelRecord> panels;     ///< in the order of their photos
  std::vector<PieceRecord> pieces;     ///< in the order of their panels
  std::vector<std::string> set_files;  ///< all pieces side by side; relative to the output folder
  std::optional<SetRecord> set;        ///< of two pieces and more, or a job with seams
  std::vector<MaterialRecord> materials;
  std::optional<SewingRecord> sewing;  ///< empty without seams
  Faults faults;  ///< of the run as a whole; photos, panels, pieces, materials and the sewing sheet carry their own
};

/// A panel was measured when it has an outline and no refusal.
bool is_measured(const PanelRecord& record);

/// The photos that a panel was measured in.
std::vector<std::string> photo_names(const PanelRecord& record);

/// Faults of the run, the photos, the panels each with its dimensional change, the pieces, the materials and the sewing sheet, in that
/// order. A comparison that was refused refuses no panel: it is among the faults of the run (not-compared), not here a second time.
Faults all_faults(const Results& results);

/// The pieces as they are cut at last, in the order of Results::pieces: the adjusted one where there is one.
std::vector<Piece> last_pieces(const Results& results);

/// Of the record's measured hides.
MeasuredStock measured_stock(const MaterialRecord& record, const Results& results);

/// Version of results.json: the whole number goes up when a field changes its meaning or goes.
inline constexpr const char* results_schema = "chalkfold-results-1";

/// results.json as results.schema.json describes it: two-space indent, keys in a fixed order, no date. mm, px and
/// degrees as the names say.
std::string results_json(const Results& results);

/// A fault as all JSON outputs write it.
nlohmann::ordered_json fault_json(const Fault& fault);
nlohmann::ordered_json faults_json(const Faults& faults);

/// A number rounded to `decimals`, so that files stay short; null when it is not finite.
nlohmann::ordered_json rounded(double value, int decimals);

}  // namespace chalkfold
