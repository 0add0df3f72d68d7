// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <opencv2/core.hpp>
#include <optional>
#include <vector>

#include "demo/base/scene.h"
#include "demo/camera/phone.h"

namespace chalkfold::demo {

/// The rendered picture as a phone would store it: turned as the sensor read it, JPEG, with EXIF (make "Example",
/// model, orientation, focal length, 35 mm equivalent; no date). Same picture and scene give the same bytes.
std::vector<unsigned char> jpeg_with_exif(const cv::Mat& upright, const Scene& scene);

/// Renders and writes FOLDER/NAME.jpg and FOLDER/NAME.truth.json (under temporary names first). The folder is made when
/// missing. With a phone the light goes through that (phone_picture) in place of the scene's sensor, of which exposure, vignetting and
/// blur stay, and the truth says so under "phone". Throws FileError when it cannot write.
void write_photo(const Scene& scene, const std::filesystem::path& folder,
                 const std::optional<PhoneOptions>& phone = std::nullopt);

}  // namespace chalkfold::demo
