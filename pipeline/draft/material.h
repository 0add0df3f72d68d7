// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "pipeline/common/fault.h"
#include "pipeline/draft/piece.h"
#include "pipeline/draft/roll_layout.h"

namespace chalkfold {

/// How a material may be laid.
enum class MaterialKind {
  woven,               ///< along the roll by the grain; the head of a directed grain arrow points to the roll's end
  artificial_leather,  ///< along the roll by the grain, either way, never askew
  leather,             ///< any way; bought by the hide
  other,               ///< any way: foam, felt, board
};

/// "woven", "artificial leather", "leather", "other": as a job says it.
std::string to_string(MaterialKind kind);

/// What is known of a material.
struct MaterialOptions {
  std::optional<MaterialKind> kind;    ///< none: laid as artificial leather is, with a note
  double roll_width = 1400;            ///< mm; common practice, no source
  std::optional<double> usable_width;  ///< mm, without edges that cannot be used; none: the whole width
  bool either_way = false;   ///< looks alike both ways along the roll: of a directed grain arrow, only the line counts
  double gap = 2;            ///< mm between two pieces, see RollOptions
  double hide_area = 5.5e6;  ///< mm2 of one hide; common practice, no source
  double usable_fraction = 0.65;  ///< of a hide that ends up in pieces; common practice, no source
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const MaterialOptions& options);

double usable_width(const MaterialOptions& options);

/// Areas of one copy, mm2: within the sew line and within the cut line. Cut-outs are not taken off, they are cut from the same material.
struct PieceArea {
  std::size_t piece = 0;  ///< its index
  int copies = 1;
  double net = 0, cut = 0;
};

/// One copy of a piece where it lies on the roll (roll_layout.h), the material's inside up.
struct LaidCopy {
  std::size_t piece = 0;  ///< its index
  bool mirrored = false;  ///< the copy that is cut as mirror image
  RollPiece asked;        ///< as it lies inside up, and the turns that it may have
  RollPlace place;
  std::optional<std::array<Vec2, 2>> grain;  ///< tail and head, in the frame of `asked`
};

/// How many hides of leather a set takes: its cut area / the usable fraction. Common practice, no source; as a check of the whole,
/// two front seats take about one hide of 5.5 m2.
struct HideNeed {
  double area = 0;  ///< mm2 of hide
  int hides = 0;    ///< of the size in MaterialOptions, rounded up
};

/// What a set takes of one material.
struct MaterialNeed {
  std::string material;
  MaterialOptions options;
  std::vector<PieceArea> pieces;
  double net_area = 0, cut_area = 0;  ///< mm2 of all copies
  std::vector<LaidCopy> copies;       ///< in the order of the pieces; those that do not fit are not placed
  double roll_length = 0;             ///< mm; 0 when nothing fits
  double roll_area = 0;               ///< mm2, length x usable width
  double roll_share = 0;              ///< of it that is pieces, 0..1
  std::optional<HideNeed> hides;      ///< of leather
  Faults faults;
};

inline constexpr double mm2_per_m2 = 1e6;
inline constexpr double mm2_per_ft2 = 304.8 * 304.8;  ///< the international foot

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

}  // namespace chalkfold
