// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <opencv2/core.hpp>
#include <span>

#include "pipeline/capture/photo.h"

namespace chalkfold::capture {

/// True when the file's segments and scans run up to an end-of-image marker; what follows that marker does not matter.
/// False for a file that was cut short. Nothing is decoded.
bool jpeg_is_complete(std::span<const std::uint8_t> file);

/// A JPEG as far as it goes: whole, or cut short.
struct PartialJpeg {
  /// CV_8UC3 as stored, rows from whole_rows on are black; empty when nothing could be decoded, or the file's colours are not for a screen (CMYK)
  cv::Mat bgr;
  /// rows from the top that were decoded with all their detail
  int whole_rows = 0;
  /// as the header says; zero when it cannot be read
  CodingSteps coding;
};

/// Decodes what there is and counts the rows whose every coefficient was in the file. Of a progressive file only the
/// rows that the last, finest pass reached count, since coarser ones are blurred.
/// Of a whole file the pixels are those of cv::imdecode, in two thirds of its time: the library writes them in OpenCV's order where they are to stay.
PartialJpeg read_jpeg(std::span<const std::uint8_t> file);

}  // namespace chalkfold::capture
