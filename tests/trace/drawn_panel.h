// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <opencv2/core.hpp>

#include "pipeline/capture/photo.h"
#include "pipeline/panel/panel.h"
#include "pipeline/trace/trace.h"

namespace chalkfold::test {

/// A photo of these pixels, of which nothing else is known.
capture::Photo photo_of(const cv::Mat& bgr);

/// A rectangular panel on a table, seen straight from above by a camera without distortion, with what is drawn on it kept as
/// truth by the caller. Table mm, the panel's middle at (0, 0). Drawn four times as fine and averaged, so that every place is true to some
/// hundredths of a pixel.
class DrawnPanel {
 public:
  /// mm
  static constexpr double px_per_mm = 3, width = 300, height = 220, margin = 30;

  explicit DrawnPanel(cv::Scalar panel_bgr = {60, 50, 45}, cv::Scalar table_bgr = {120, 160, 190});

  void stroke(const Polyline& points, double width_mm, const cv::Scalar& bgr);
  void disc(const Vec2& at, double diameter, const cv::Scalar& bgr);
  void polygon(const Polyline& points, const cv::Scalar& bgr);
  const cv::Scalar& table() const { return table_; }

  /// The photo, with noise of `sigma` grey steps, the same for the same seed.
  cv::Mat photo(double sigma = 1.5, std::uint64_t seed = 1) const;
  survey::TableView view() const;
  /// The panel with its true straight outline (a point every millimetre).
  panel::Panel panel() const;
  /// Panel with the marks that the program reads, in a file of that coding.
  panel::Panel read(double sigma = 1.5, std::uint64_t seed = 1, const capture::CodingSteps& coding = {}) const;

 private:
  cv::Point fine(const Vec2& at) const;
  cv::Mat canvas_;
  cv::Scalar table_;
};

}  // namespace chalkfold::test
