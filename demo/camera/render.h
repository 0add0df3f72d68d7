// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>

#include "demo/base/scene.h"

namespace chalkfold::demo {

/// The light on the sensor's pixels, upright, CV_32FC3 BGR, linear, 1 = white: each pixel is the mean over its square
/// (lens distortion, tilt, side walls and shadows included), before blur, noise and tone. The same for any number of
/// threads. Throws std::logic_error when the camera sees the horizon or stands below the table.
cv::Mat render_light(const Scene& scene);

/// render_light() after the lens's blur and vignetting: what a noiseless linear sensor would give.
cv::Mat render_linear(const Scene& scene);

/// The photograph, upright, CV_8UC3 BGR: blur, vignetting, the sensor's noise (none by default), sRGB coding,
/// sharpening.
cv::Mat render(const Scene& scene);

}  // namespace chalkfold::demo
