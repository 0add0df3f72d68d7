// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/draft/set/seam.h"

namespace chalkfold::draft {

/// What speaks for a seam that the job does not name.
struct ProposalOptions {
  SeamOptions seam;
  /// share of its length by which an edge may have worn
  double wear = 0.01;
  /// mm, sigma of how far from each other two marks that were to meet are drawn
  double hand = 1.5;
  /// rad, by which two edges that are sewn together may turn differently in all
  double turn = 0.4;
  /// mm; shorter edges are alike too often
  double least_length = 40;
  double least_confidence = 0.1;
  /// candidates for one edge
  std::size_t most = 3;
  /// edges in a row that a long edge (a strip) may run round
  std::size_t longest_run = 4;
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const ProposalOptions& options);

/// Seams that the edges not taken by `asked` may form, surest first, numbered on from the highest number asked. For every edge the
/// likeliest candidates are kept; proposals may contradict each other, and none is a seam until the job says so.
///
/// A candidate's worth is the product of four: its net lengths' difference against U and wear; the places of its match marks, when
/// travelled as SeamRun says, against hand drawing and wear (two marks and more on either side are worth most, none half, a
/// different number little); how much both turn in all, into each other or alike; and that it joins single edges of two pieces that are no mirror images of each other.
/// Its confidence is the worth times its share of the worth of all candidates for the same edges. A method of our own; the figures are
/// common practice, no source. Numbers written beside marks are pictures, not data, and do not count.
std::vector<SeamReport> propose_seams(const std::vector<SeamAsked>& asked, const std::vector<Piece>& pieces,
                                      const ProposalOptions& options = {});

}  // namespace chalkfold::draft
