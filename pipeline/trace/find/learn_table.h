// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>
#include <vector>

#include "pipeline/trace/base/table_colours.h"
#include "pipeline/trace/find/table_masks.h"

namespace chalkfold::trace {

/// Least spread of a colour in OpenCV's 8-bit Lab: light falls off unevenly; fitted: outline_accuracy.py, seeds 9001,
/// 21001, 31001, 41001.
const Eigen::Vector3d lab_floor(5, 2.5, 2.5);

/// Squared Mahalanobis distance to a mixture, median over some of the pixels of a CV_8UC3 Lab picture.
double median_distance2(const ColourMixture& colours, const cv::Mat& lab, const std::vector<cv::Point>& where);

/// Table colours from the rings, then from every stretch of the rim that looks like what is already known to be table. A stretch that does not
/// is something that runs off the picture. `shaded`: a stretch that is
/// like the known table in a shadow is table too; what runs off the picture may then be lost.
ColourMixture learn_table(const cv::Mat& lab, const TableMasks& masks, bool shaded);

}  // namespace chalkfold::trace
