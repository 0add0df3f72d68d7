// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/draft/piece/piece.h"

namespace chalkfold::draft {

/// A change that material will undergo after it is cut, and the direction of its grain in the piece's frame.
struct Compensation {
  /// minus is shrinkage
  double along_percent = 0, across_percent = 0;
  /// unit
  Vec2 direction = Vec2::UnitX();
};

/// The piece scaled so that its net sew line comes out right after the change: every length l along the grain becomes
/// l / (1 + along / 100), across it l / (1 + across / 100), about the sew line's centroid, with marks, cut-outs, holes and axis. The
/// allowances stay as they are, since they are sewn by the machine's guide, and the cut line is laid anew; so are the labels, of which one says
/// what the piece was scaled for. A shear is not made up for. Arcs of the sew line become cubics (an ellipse's arc is no circle's).
/// Faults: compensated (note); axis-lost (note), when the axis lies askew to the grain: the scaled piece is symmetric only after the
/// change, so it must not be cut on the fold. Precondition: the piece was not refused, percentages over -50.
Piece compensated_piece(const Piece& piece, const Compensation& compensation, double mitre_limit = 3);

}  // namespace chalkfold::draft
