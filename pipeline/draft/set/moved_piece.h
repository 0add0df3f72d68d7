// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/draft/set/set_bodies.h"

namespace chalkfold::draft {

/// The piece of a body as q moves it, drafted again: sew curves, cut line, marks at their slid places, axis, grain, holes and cut-outs
/// carried along, labels placed anew. What lies inside moves with the stretch and with the outline's own movement, the nearer the more
/// (weights 1 / distance^2). Faults of the new lines as draft_piece tells them. Moves below a millionth of a millimetre leave the
/// piece as it is, bit by bit.
Piece moved_piece(const Piece& piece, const Body& body, const Eigen::VectorXd& q, double mitre_limit = 3);

/// The other piece of a pair: the mirror image of `moved`, with the texts of `own`; faults of the lines tell places on it.
Piece moved_image(const Piece& moved, const Piece& own, double mitre_limit = 3);

/// Unadjusted and adjusted sew line compared; `piece` is the body's own.
PieceMoves moves_of(const Piece& piece, const Piece& moved, const Body& body, const Eigen::VectorXd& q);

}  // namespace chalkfold::draft
