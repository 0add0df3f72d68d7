// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <memory>
#include <opencv2/core.hpp>
#include <span>
#include <string>

#include "pipeline/capture/photo.h"

namespace chalkfold::capture {

/// The main picture of a HEIC, HEIF or AVIF file. Opening reads the header only, so that the size can be judged before
/// pixels are decoded. The bytes must outlive the object. Runs in the calling thread.
class HeifPicture {
 public:
  explicit HeifPicture(std::span<const std::uint8_t> file);
  ~HeifPicture();
  HeifPicture(const HeifPicture&) = delete;
  HeifPicture& operator=(const HeifPicture&) = delete;

  bool is_open() const;
  /// px, after the file's own turning; 0 when not open
  int width() const;
  /// px, after the file's own turning; 0 when not open
  int height() const;

  /// EXIF as stored. The file's own irot and imir boxes turn the picture, not this orientation.
  PhotoExif exif() const;

  /// CV_8UC3 or, with an alpha channel, CV_8UC4; already upright; 10 and 12 bits are scaled to 8. Empty on failure: see
  /// problem().
  cv::Mat decode();

  /// the library's words for what went wrong, or empty
  const std::string& problem() const { return problem_; }
  bool unsupported() const {
    return unsupported_;
    /// true when the file may be sound but this library cannot decode its kind
  }

 private:
  struct Handles;
  bool succeeded(int code, const char* message);

  std::unique_ptr<Handles> handles_;
  std::string problem_;
  bool unsupported_ = false;
};

}  // namespace chalkfold::capture
