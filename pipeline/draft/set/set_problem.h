// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/draft/set/adjust_options.h"
#include "pipeline/draft/set/set_bodies.h"

namespace chalkfold::draft {

/// The intervals of one seam, for the solver.
struct SeamIntervals {
  /// of the seam
  int number = 0;
  std::vector<BodyInterval> intervals;
};

struct SetSolution {
  bool usable = false;
  /// Ceres's own, when it is not
  std::string message;
  /// a body each
  std::vector<Eigen::VectorXd> q;
  /// half the sum of squares of all but the seams
  double cost = 0;
  /// mm, a seam each: the most that one of its intervals misses
  std::vector<double> left;
  /// a seam each: how hard it pulls, 1 / mm
  std::vector<double> force;
};

/// Solves for all bodies; `skip`: index of a seam that is left out, or -1. See adjust_set.
SetSolution solve_set(const std::vector<Piece>& pieces, const std::vector<Body>& bodies,
                      const std::vector<SeamIntervals>& seams, const AdjustOptions& options, int skip = -1);

/// The prior of one body without its stretch: rows of LinearCost.
Eigen::MatrixXd prior_rows(const Piece& piece, const Body& body, const AdjustOptions& options);

}  // namespace chalkfold::draft
