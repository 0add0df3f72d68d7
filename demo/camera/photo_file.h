// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <opencv2/core.hpp>
#include <vector>

#include "demo/base/scene.h"

namespace chalkfold::demo {

/// The rendered picture as a phone would store it: turned as the sensor read it, JPEG, with EXIF (make "Example",
/// model, orientation, focal length, 35 mm equivalent; no date). Same picture and scene give the same bytes.
std::vector<unsigned char> jpeg_with_exif(const cv::Mat& upright, const Scene& scene);

/// Renders and writes FOLDER/NAME.jpg and FOLDER/NAME.truth.json (under temporary names first). The folder is made when
/// missing. Throws FileError when it cannot write.
void write_photo(const Scene& scene, const std::filesystem::path& folder);

}  // namespace chalkfold::demo
