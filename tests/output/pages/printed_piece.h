// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>
#include <string>
#include <vector>

#include "pipeline/geometry/point.h"

namespace chalkfold::test {

/// A page of a PDF file as a printer would see it: grey, 255 = paper, and the words on it.
struct PaperPage {
  cv::Mat grey;
  double px_per_mm = 0;
  std::string words;

  /// Darkness, 0 (paper) to 255, at a place in mm, y down from the paper's top left, between the pixels.
  double ink(const Vec2& at) const;
  /// Middles, mm, of the dark stretches that a line from one place to another crosses (both on a row, or both in a column).
  std::vector<double> strokes_across(const Vec2& from, const Vec2& to) const;
};

/// All pages, drawn by pdftoppm and read by pdftotext. Throws std::runtime_error when these cannot be run.
std::vector<PaperPage> printed_piece(const std::string& pdf, int dpi);

/// "595.276 x 841.89 pts" of every page, as pdfinfo has them.
std::vector<std::string> page_sizes(const std::string& pdf);

}  // namespace chalkfold::test
