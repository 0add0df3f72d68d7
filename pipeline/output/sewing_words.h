// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "pipeline/output/results.h"

namespace chalkfold {

/// What the sewing sheet says of one seam, for the report and for paper alike.
struct StepWords {
  std::string heading;                ///< "1. cushion top/4 to side/3"
  std::vector<std::string> facts;     ///< sentences: length, marks, stitch distance, thread
  std::vector<std::string> cautions;  ///< what does not meet, and dangers at these pieces
  bool fit = false;                   ///< the cover is tried on before
};

/// Of every step, in order. Precondition: results.sewing.
std::vector<StepWords> step_words(const Results& results);

/// What holds for the whole sheet: where the order is from, stitch, thread. Precondition: results.sewing.
std::vector<std::string> sheet_words(const Results& results);

/// Whether a seam of the sheet runs along a piece that may lie over an airbag.
bool sews_by_airbag(const Results& results);

}  // namespace chalkfold
