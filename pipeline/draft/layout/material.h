// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "pipeline/common/fault.h"
#include "pipeline/draft/layout/roll_layout.h"
#include "pipeline/draft/piece/piece.h"

namespace chalkfold::draft {

/// How a material may be laid.
enum class MaterialKind {
  /// along the roll by the grain; the head of a directed grain arrow points to the roll's end
  woven,
  /// along the roll by the grain, either way, never askew
  artificial_leather,
  /// any way; bought by the hide
  leather,
  /// any way: foam, felt, board
  other,
};

/// "woven", "artificial leather", "leather", "other": as a job says it.
std::string to_string(MaterialKind kind);

/// What is known of a material.
struct MaterialOptions {
  /// none: laid as artificial leather is, with a note
  std::optional<MaterialKind> kind;
  /// mm; common practice, no source
  double roll_width = 1400;
  /// mm, without edges that cannot be used; none: the whole width
  std::optional<double> usable_width;
  /// looks alike both ways along the roll: of a directed grain arrow, only the line counts
  bool either_way = false;
  /// mm between two pieces, see RollOptions
  double gap = 2;
  /// mm2 of one hide; common practice, no source
  double hide_area = 5.5e6;
  /// of a hide that ends up in pieces; common practice, no source
  double usable_fraction = 0.65;
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const MaterialOptions& options);

double usable_width(const MaterialOptions& options);

/// Areas of one copy, mm2: within the sew line and within the cut line. Cut-outs are not taken off, they are cut from the same material.
struct PieceArea {
  /// its index
  std::size_t piece = 0;
  int copies = 1;
  double net = 0, cut = 0;
};

/// One copy of a piece where it lies on the roll (roll_layout.h), the material's inside up.
struct LaidCopy {
  /// its index
  std::size_t piece = 0;
  /// the copy that is cut as mirror image
  bool mirrored = false;
  /// as it lies inside up, and the turns that it may have
  RollPiece asked;
  RollPlace place;
  /// tail and head, in the frame of `asked`
  std::optional<std::array<Vec2, 2>> grain;
};

/// How many hides of leather a set takes: its cut area / the usable fraction. Common practice, no source; as a check of the whole,
/// two front seats take about one hide of 5.5 m2.
struct HideNeed {
  /// mm2 of hide
  double area = 0;
  /// of the size in MaterialOptions, rounded up
  int hides = 0;
};

/// What a set takes of one material.
struct MaterialNeed {
  std::string material;
  MaterialOptions options;
  std::vector<PieceArea> pieces;
  /// mm2 of all copies
  double net_area = 0, cut_area = 0;
  /// in the order of the pieces; those that do not fit are not placed
  std::vector<LaidCopy> copies;
  /// mm; 0 when nothing fits
  double roll_length = 0;
  /// mm2, length x usable width
  double roll_area = 0;
  /// of it that is pieces, 0..1
  double roll_share = 0;
  /// of leather
  std::optional<HideNeed> hides;
  Faults faults;
};

inline constexpr double mm2_per_m2 = 1e6;
/// the international foot
inline constexpr double mm2_per_ft2 = 304.8 * 304.8;

/// Needs of every material that a piece names, in the order in which the pieces first name them; refused pieces and pieces without a
/// material are passed over. Every copy is laid, the last one mirrored when a piece is to be cut with one mirrored. A material that
/// `options` does not name has the defaults.
/// Which way a piece lies along the roll: its grain line; without one its fold axis; without that the longer side of the smallest
/// rectangle around it. Materials that may lie any way are tried in quarter turns of that rectangle.
/// Fault codes: material-kind-not-given, grain-missing, piece-too-wide.
std::vector<MaterialNeed> material_needs(const std::vector<Piece>& pieces,
                                         const std::map<std::string, MaterialOptions>& options = {});

/// Direction of the longer side of the smallest rectangle around a closed polyline, rad, in (-pi/2, pi/2].
double long_side_angle(const Polyline& closed);

}  // namespace chalkfold::draft
