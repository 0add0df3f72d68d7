// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <map>
#include <opencv2/core.hpp>
#include <string>
#include <vector>

#include "calib/sheet_pages.h"
#include "pipeline/geometry/point.h"

namespace chalkfold::calib {

/// A page as a printer would see it: grey, 255 = paper.
struct PrintedPage {
  cv::Mat grey;
  double dpi = 0;

  double px_per_mm() const { return dpi / 25.4; }
  /// Pixel (0,0 = centre of the top-left one) of a page place in mm, y down from the paper's top left.
  Vec2 pixel(const Vec2& at_in_page) const { return at_in_page * px_per_mm() - Vec2(0.5, 0.5); }
};

/// True when pdftoppm and pdftotext can be run here.
bool can_print();

/// Pages first..last (1-based) of the file for these options, drawn by pdftoppm. Throws std::runtime_error when that
/// fails.
std::vector<PrintedPage> print(const SheetPagesOptions& options, int first, int last, int dpi);

/// The words on one page, as pdftotext reads them.
std::string words_on_page(const SheetPagesOptions& options, int page);

/// Corner pixels (top left, top right, bottom right, bottom left) of every marker of the dictionary on the page, by id.
std::map<int, std::vector<cv::Point2f>> markers_on(const PrintedPage& page);

/// Places in px where the grey along a row (or column) crosses half, from the first pixel centre, to a fraction of a
/// pixel.
std::vector<double> crossings_of_half(const cv::Mat& line);

}  // namespace chalkfold::calib
