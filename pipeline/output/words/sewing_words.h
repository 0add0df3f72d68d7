// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "pipeline/output/json/results.h"

namespace chalkfold::output {

/// What the sewing sheet says of one seam, for the report and for paper alike.
struct StepWords {
  /// "1. cushion top/4 to side/3"
  std::string heading;
  /// sentences: length, marks, stitch distance, thread
  std::vector<std::string> facts;
  /// what does not meet, and dangers at these pieces
  std::vector<std::string> cautions;
  /// the cover is tried on before
  bool fit = false;
};

/// Of every step, in order. Precondition: results.sewing.
std::vector<StepWords> step_words(const Results& results);

/// What holds for the whole sheet: where the order is from, stitch, thread. Precondition: results.sewing.
std::vector<std::string> sheet_words(const Results& results);

/// Whether a seam of the sheet runs along a piece that may lie over an airbag.
bool sews_by_airbag(const Results& results);

}  // namespace chalkfold::output
