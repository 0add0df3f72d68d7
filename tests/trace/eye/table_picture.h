// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "pipeline/trace/eye/eye_input.h"

namespace chalkfold::trace {

/// A grey table with a dark panel, a sheet of printed paper on it and a strip out of sight; a little noise, so that no two px are alike by chance.
inline EyeInput table_picture(const cv::Size& size) {
  EyeInput input;
  input.code = cv::Mat(size, CV_8UC3, cv::Scalar(120, 130, 135));
  for (cv::Mat* mask : {&input.known, &input.ink, &input.unseen}) *mask = cv::Mat::zeros(size, CV_8U);
  input.mm_per_px = 1.4;
  const cv::Rect panel(size.width / 3, size.height / 4, size.width / 2, size.height / 2);
  cv::rectangle(input.code, panel, cv::Scalar(40, 45, 60), cv::FILLED);
  const cv::Rect sheet(2, 3, size.width / 4, size.height / 3), print(6, 8, size.width / 12, size.height / 8);
  cv::rectangle(input.code, sheet, cv::Scalar(225, 230, 235), cv::FILLED);
  cv::rectangle(input.known, sheet, cv::Scalar(255), cv::FILLED);
  cv::rectangle(input.code, print, cv::Scalar(30, 30, 30), cv::FILLED);
  cv::rectangle(input.ink, print, cv::Scalar(255), cv::FILLED);
  cv::Mat noise(size, CV_8UC3);
  cv::RNG random(7);
  random.fill(noise, cv::RNG::UNIFORM, 0, 6);
  input.code += noise;
  cv::rectangle(input.unseen, {0, size.height - 5, size.width, 5}, cv::Scalar(255), cv::FILLED);
  return input;
}

}  // namespace chalkfold::trace
