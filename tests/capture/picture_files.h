// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <filesystem>
#include <opencv2/core.hpp>
#include <optional>
#include <string>
#include <vector>

#include "pipeline/capture/photo.h"

/// Small picture files for the tests of capture, written byte by byte where a library would not write what is wanted.
namespace chalkfold::picture_files {

using FileBytes = std::vector<std::uint8_t>;

/// A folder of its own for one test, removed at the end.
class TemporaryFolder {
 public:
  TemporaryFolder();
  ~TemporaryFolder();
  TemporaryFolder(const TemporaryFolder&) = delete;
  TemporaryFolder& operator=(const TemporaryFolder&) = delete;
  const std::filesystem::path& path() const { return path_; }
  /// Writes the bytes and returns the file's path.
  std::filesystem::path write(const std::string& name, const FileBytes& bytes) const;

 private:
  std::filesystem::path path_;
};

/// 96 x 64 px, CV_8UC3: four fields of unlike colours and a notch, so that none of the eight turns looks like another.
cv::Mat flag();

/// Smooth random texture, CV_8UC3, the same at every call: rows differ everywhere, as in a photograph.
cv::Mat texture(cv::Size size);

/// What a camera stores so that EXIF orientation `orientation` brings back `upright`: by the standard's table of what
/// row 0 and column 0 are.
cv::Mat stored_for(const cv::Mat& upright, int orientation);

/// An EXIF block (little-endian TIFF structure) that says what `exif` says; focal length and zoom in quarters.
FileBytes exif_block(const capture::PhotoExif& exif);

FileBytes encode(const std::string& ending, const cv::Mat& image, const std::vector<int>& parameters = {});
FileBytes jpeg_with_exif(const FileBytes& jpeg, const FileBytes& block);
FileBytes png_with_exif(const FileBytes& png, const FileBytes& block);
/// From a plain WebP file; `image` gives the canvas size.
FileBytes webp_with_exif(const FileBytes& webp, cv::Size canvas, const FileBytes& block);
/// Uncompressed TIFF of CV_8UC3 or CV_16UC3 pixels with camera entries.
FileBytes tiff_with_exif(const cv::Mat& bgr, const capture::PhotoExif& exif);
/// HEIC whose own boxes turn it by exif.orientation; nothing when this libheif has no HEVC encoder.
std::optional<FileBytes> heic_with_exif(const cv::Mat& bgr, const capture::PhotoExif& exif);
/// A PNG file that stops after its header, which claims the given size.
FileBytes png_header_only(std::uint32_t width, std::uint32_t height);

}  // namespace chalkfold::picture_files
