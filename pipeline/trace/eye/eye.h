// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>

namespace chalkfold::trace {

/// A picture of the table seen from above, and what is known beforehand. All of one size.
struct EyeInput {
  /// CV_8UC3, blue green red, sRGB codes as the photo has them
  cv::Mat code;
  /// CV_8U, 255 where a sheet or a tag's card lies
  cv::Mat paper;
  /// CV_8U, 255 where its print covers the paper
  cv::Mat ink;
  /// CV_8U, 255 where the photo shows the table
  cv::Mat visible;
  double mm_per_px = 1.5;
};

/// Probabilities 0..1, CV_32F, of the input's size. The first four add up to 1. They say nothing where the photo shows nothing.
struct EyeMaps {
  cv::Mat table, panel, paper;
  /// what is none of the three: a tool, a hand, tape, thread
  cv::Mat thing;
  /// of an outline of a panel within 1.5 px
  cv::Mat edge;
  /// of more than 15 % of the light lost to a shadow
  cv::Mat shadow;
};

/// What a small trained network (367,638 weights) takes the pixels for. It has seen made-up tables of 1 to 2.7 mm a pixel. The same bytes for any number of
/// threads. Throws std::logic_error when the network that is built into the program is damaged.
EyeMaps look(const EyeInput& input);

}  // namespace chalkfold::trace
