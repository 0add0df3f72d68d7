// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/layout/material.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "pipeline/common/check_option.h"
#include "pipeline/common/error.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/smallest_rectangle.h"

namespace chalkfold::draft {
namespace {

/// What says which way a piece lies.
enum class LieBy { grain, axis, rectangle };

struct Lie {
  /// rad, of the piece's frame, that is to come along the roll
  double angle = 0;
  LieBy by = LieBy::grain;
};

double angle_of(const std::array<Vec2, 2>& line) {
  const Vec2 d = line[1] - line[0];
  return std::atan2(d.y(), d.x());
}

Lie lie_of(const Piece& piece) {
  if (piece.grain && (*piece.grain)[0] != (*piece.grain)[1]) return {angle_of(*piece.grain), LieBy::grain};
  if (piece.axis && (*piece.axis)[0] != (*piece.axis)[1]) return {angle_of(*piece.axis), LieBy::axis};
  return {long_side_angle(piece.cut_line), LieBy::rectangle};
}

/// Turns that bring the piece to lie as its material wants.
std::vector<double> turns_of(const Piece& piece, const MaterialOptions& options) {
  constexpr double half = M_PI, quarter = M_PI / 2;
  const MaterialKind kind = options.kind.value_or(MaterialKind::artificial_leather);
  if (kind == MaterialKind::leather || kind == MaterialKind::other) {
    const double base = -long_side_angle(piece.cut_line);
    return {base, base + quarter, base + half, base + half + quarter};
  }
  const Lie lie = lie_of(piece);
  const bool one_way =
      kind == MaterialKind::woven && !options.either_way && lie.by == LieBy::grain && piece.grain_directed;
  if (one_way) return {-lie.angle};
  return {-lie.angle, -lie.angle + half};
}

/// A copy as it lies inside up.
LaidCopy copy_of(const Piece& piece, std::size_t index, bool mirrored, const MaterialOptions& options) {
  Piece laid = piece.side == Side::inside ? piece : other_side(piece);
  if (mirrored) laid = mirror_image(laid);
  LaidCopy copy;
  copy.piece = index;
  copy.mirrored = mirrored;
  copy.asked = {laid.cut_line, turns_of(laid, options)};
  copy.grain = laid.grain;
  return copy;
}

Fault fault_of(const char* code, Severity severity, std::string seen, std::string remedy, const std::string& piece) {
  return {code, severity, std::move(seen), std::move(remedy), {}, piece};
}

void tell_missing_grain(const Piece& piece, MaterialNeed& need) {
  const MaterialKind kind = need.options.kind.value_or(MaterialKind::artificial_leather);
  if (kind == MaterialKind::leather || kind == MaterialKind::other) return;
  const Lie lie = lie_of(piece);
  if (lie.by == LieBy::grain) return;
  need.faults.push_back(fault_of(
      "grain-missing", kind == MaterialKind::woven ? Severity::warning : Severity::note,
      fmt::format("{} has no grain line; on the roll it was laid with {} along the roll", piece.name,
                  lie.by == LieBy::axis ? "its fold axis" : "the longer side of the smallest rectangle around it"),
      "Chalk a grain arrow on the panel, or give grain_deg in the job.", piece.name));
}

void tell_too_wide(const Piece& piece, const LaidCopy& copy, MaterialNeed& need) {
  double least = std::numeric_limits<double>::infinity();
  for (const double turn : copy.asked.turns)
    least = std::min(least, geometry::bounding_box(outline_on_roll(copy.asked, {true, turn, Vec2::Zero()})).size().y());
  need.faults.push_back(fault_of(
      "piece-too-wide", Severity::warning,
      fmt::format(
          "{} needs {:.0f} mm across the roll of {}, of which {:.0f} mm are usable; it is not laid, and not in the "
          "roll's length",
          piece.name, least, need.material, usable_width(need.options)),
      "Take a wider roll (roll_width_mm, usable_width_mm), turn its grain, or cut the piece in two with a seam.",
      piece.name));
}

void add_piece(const std::vector<Piece>& pieces, std::size_t index, MaterialNeed& need) {
  const Piece& piece = pieces[index];
  PieceArea area;
  area.piece = index;
  area.copies = piece.quantity;
  area.net = piece.sew_line.size() < 3 ? 0 : std::abs(geometry::signed_area(piece.sew_line));
  area.cut = std::abs(geometry::signed_area(piece.cut_line));
  need.net_area += area.copies * area.net;
  need.cut_area += area.copies * area.cut;
  need.pieces.push_back(area);
  for (int copy = 1; copy <= piece.quantity; ++copy)
    need.copies.push_back(
        copy_of(piece, index, piece.one_mirrored && copy > 1 && copy == piece.quantity, need.options));
  tell_missing_grain(piece, need);
}

void lay(const std::vector<Piece>& pieces, MaterialNeed& need) {
  RollOptions roll;
  roll.width = usable_width(need.options);
  roll.gap = need.options.gap;
  std::vector<RollPiece> asked;
  for (const LaidCopy& copy : need.copies) asked.push_back(copy.asked);
  const RollLayout layout = roll_layout(asked, roll);
  for (std::size_t i = 0; i < need.copies.size(); ++i) {
    LaidCopy& copy = need.copies[i];
    copy.place = layout.places[i];
    const bool told = i > 0 && need.copies[i - 1].piece == copy.piece;
    if (!copy.place.placed && !told) tell_too_wide(pieces[copy.piece], copy, need);
  }
  need.roll_length = layout.length;
  need.roll_area = layout.roll_area;
  need.roll_share = layout.share();
}

MaterialNeed begun(const std::string& material, const std::map<std::string, MaterialOptions>& options) {
  MaterialNeed need;
  need.material = material;
  const auto known = options.find(material);
  if (known != options.end()) need.options = known->second;
  if (!need.options.kind)
    need.faults.push_back(fault_of("material-kind-not-given", Severity::note,
                                   fmt::format("nobody said what kind of material {} is; its pieces were laid straight "
                                               "along the roll, either way, as for artificial leather",
                                               material),
                                   "Say it in the job: \"materials\": {\"NAME\": {\"kind\": \"woven\"}}; other kinds "
                                   "are artificial leather, leather and other.",
                                   {}));
  return need;
}

}  // namespace

std::string to_string(MaterialKind kind) {
  switch (kind) {
    case MaterialKind::woven:
      return "woven";
    case MaterialKind::artificial_leather:
      return "artificial leather";
    case MaterialKind::leather:
      return "leather";
    case MaterialKind::other:
      break;
  }
  return "other";
}

double usable_width(const MaterialOptions& options) { return options.usable_width.value_or(options.roll_width); }

void check(const MaterialOptions& o) {
  check_option("roll width, mm,", o.roll_width, 100, 5000);
  check_option("usable width, mm,", usable_width(o), 100, o.roll_width);
  check_option("gap between pieces, mm,", o.gap, 0, 50);
  check_option("hide, m2,", o.hide_area / mm2_per_m2, 0.1, 20);
  check_option("usable fraction", o.usable_fraction, 0.1, 1);
}

double long_side_angle(const Polyline& closed) {
  const Vec2 along = geometry::smallest_rectangle(closed).along;
  const double angle = std::remainder(std::atan2(along.y(), along.x()), M_PI);
  return angle <= -M_PI / 2 + 1e-12 ? angle + M_PI : angle;
}

std::vector<MaterialNeed> material_needs(const std::vector<Piece>& pieces,
                                         const std::map<std::string, MaterialOptions>& options) {
  for (const auto& [name, one] : options) check(one);
  std::vector<MaterialNeed> needs;
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    const Piece& piece = pieces[i];
    if (piece.material.empty() || has_refusal(piece.faults) || piece.cut_line.size() < 3) continue;
    auto need =
        std::find_if(needs.begin(), needs.end(), [&](const MaterialNeed& n) { return n.material == piece.material; });
    if (need == needs.end()) need = needs.insert(needs.end(), begun(piece.material, options));
    add_piece(pieces, i, *need);
  }
  for (MaterialNeed& need : needs) {
    lay(pieces, need);
    if (need.options.kind == MaterialKind::leather) {
      const double area = need.cut_area / need.options.usable_fraction;
      need.hides = HideNeed{area, static_cast<int>(std::ceil(area / need.options.hide_area - 1e-9))};
    }
  }
  return needs;
}

}  // namespace chalkfold::draft
