// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>

namespace chalkfold::trace {

/// Where colour alone finds no panel: a check or weave of the table's own colours on average, told by how much more of its neighbourhood than of the
/// table's is of another colour or busier than the table ever is.
/// `far`: CV_8U, pixels of another colour than the table's; `lab`: CV_8UC3; `table`: CV_8U, where the table is known to lie bare; `open`: CV_8U, where a
/// panel may lie. Returns CV_8U regions, their limits good to a few millimetres.
cv::Mat busy_regions(const cv::Mat& far, const cv::Mat& lab, const cv::Mat& table, const cv::Mat& open,
                     double mm_per_px);

/// Is a panel of a pattern that shares a colour with the table: do pixels that look like table and `other` ones (CV_8U) lie among each other all over it?
bool mingled(const cv::Mat& panel, const cv::Mat& other, double mm_per_px);

}  // namespace chalkfold::trace
