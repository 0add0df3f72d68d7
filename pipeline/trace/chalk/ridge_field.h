// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>
#include <vector>

#include "pipeline/geometry/point.h"

namespace chalkfold::trace {

/// Lines in a picture: how strongly each pixel lies on one, and which way it runs. Raster px, y down.
struct RidgeField {
  /// CV_32FC1: second derivative across the line times sigma squared, in the picture's own units; never negative
  cv::Mat strength;
  /// CV_32FC2: unit vector along the line (either way)
  cv::Mat direction;
};

/// Ridges and valleys of any colour: of the three channels' Hessians H1..H3 at `sigma_px` the direction in which H1^2 + H2^2 + H3^2 is
/// largest. Method: C. Steger, "An unbiased detector of curvilinear structures", 1998, with the channels' responses added in square.
/// `picture` CV_32FC3. `wanted` (CV_8UC1, as large) may say where strengths are needed: elsewhere they may be left at 0.
RidgeField colour_ridges(const cv::Mat& picture, double sigma_px, const cv::Mat& wanted = {});

/// Ridges (lighter than both sides) of one channel, the second derivative averaged along the line over `along_px` (standard deviation)
/// in sixteen directions: grain and breaks average out along a stroke, and what is not elongated falls away. `picture` CV_32FC1,
/// `wanted` as for colour_ridges.
RidgeField long_ridges(const cv::Mat& picture, double sigma_px, double along_px, const cv::Mat& wanted = {});

/// A point on the crest of a ridge.
struct CrestPoint {
  cv::Point pixel;
  /// raster px, sub-pixel: the strongest place across the line, by a parabola
  Vec2 at = Vec2::Zero();
  /// unit
  Vec2 along = Vec2::UnitX();
  float strength = 0;
};

/// The pixels at least `least` strong that no neighbour across the line outdoes, row by row.
std::vector<CrestPoint> crest_points(const RidgeField& field, double least);

}  // namespace chalkfold::trace
