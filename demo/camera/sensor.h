// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>

#include "demo/base/scene.h"

namespace chalkfold::demo {

/// A phone of today in good light: what Sensor leaves off by default, turned on.
Sensor phone_sensor();

/// Light (CV_32FC3, linear) after exposure, vignetting and blur.
cv::Mat blurred(const cv::Mat& light, const Sensor& sensor);

/// The 8-bit picture: exposure, vignetting, blur, noise, sRGB coding, sharpening. Noise depends on seed and pixel only.
cv::Mat developed(const cv::Mat& light, const Sensor& sensor, std::uint64_t seed);

}  // namespace chalkfold::demo
