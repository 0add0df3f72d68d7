// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <cstdint>
#include <new>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>
#include <span>
#include <utility>
#include <vector>

#include "pipeline/capture/exif.h"
#include "pipeline/capture/heif_reader.h"
#include "pipeline/capture/image_header.h"
#include "pipeline/capture/jpeg_reader.h"
#include "pipeline/capture/photo.h"
#include "pipeline/capture/photo_file.h"
#include "pipeline/capture/sha256.h"
#include "pipeline/common/check_option.h"

namespace chalkfold::capture {
namespace {

using Bytes = std::span<const std::uint8_t>;

constexpr const char* copy_again = "Copy the photo from the phone again, as the original file.";

/// An EXIF orientation as three steps, done in this order.
struct Turn {
  bool transpose, flip_x, flip_y;
};

Turn turn_of(int orientation) {
  switch (orientation) {
    case 2:
      return {false, true, false};
    case 3:
      return {false, true, true};
    case 4:
      return {false, false, true};
    case 5:
      return {true, false, false};
    case 6:
      return {true, true, false};
    case 7:
      return {true, true, true};
    case 8:
      return {true, false, true};
    default:
      return {false, false, false};
  }
}

/// Where a part of the stored picture lies once that is turned upright.
cv::Rect upright_part(cv::Rect part, cv::Size stored, int orientation) {
  const Turn turn = turn_of(orientation);
  if (turn.transpose) {
    part = {part.y, part.x, part.height, part.width};
    stored = {stored.height, stored.width};
  }
  if (turn.flip_x) part.x = stored.width - part.x - part.width;
  if (turn.flip_y) part.y = stored.height - part.y - part.height;
  return part;
}

/// Lays a CV_8UC4 picture on white paper. Photographs have no alpha; cut-out pictures have it 0 or 255.
cv::Mat on_white(const cv::Mat& bgra) {
  cv::Mat bgr(bgra.size(), CV_8UC3);
  for (int y = 0; y < bgra.rows; ++y) {
    const auto* from = bgra.ptr<cv::Vec4b>(y);
    auto* to = bgr.ptr<cv::Vec3b>(y);
    for (int x = 0; x < bgra.cols; ++x) {
      const int alpha = from[x][3];
      for (int c = 0; c < 3; ++c)
        to[x][c] = static_cast<std::uint8_t>((from[x][c] * alpha + 255 * (255 - alpha) + 127) / 255);
    }
  }
  return bgr;
}

/// CV_8UC3 from whatever a file stores; empty for signed, 32-bit and floating-point samples, whose range is not known.
cv::Mat to_bgr8(cv::Mat pixels) {
  constexpr double eight_from_sixteen = 1.0 / 257;  // 65535 -> 255 exactly
  if (pixels.depth() == CV_16U) pixels.convertTo(pixels, CV_8U, eight_from_sixteen);
  if (pixels.depth() != CV_8U) return {};
  switch (pixels.channels()) {
    case 1:
      cv::cvtColor(pixels, pixels, cv::COLOR_GRAY2BGR);
      return pixels;
    case 3:
      return pixels;
    case 4:
      return on_white(pixels);
    default:
      return {};
  }
}

/// Loads one photo; every step that finds something wrong leaves a fault.
class Loader {
 public:
  Loader(const std::filesystem::path& file, const LoadOptions& options) : file_(file), options_(options) {}

  LoadResult run() {
    const auto bytes = read_photo_file(file_, largest_photo_file(options_), faults_);
    if (bytes) {
      photo_.name = photo_name(file_);
      photo_.sha256 = sha256_hex(*bytes);
      const ImageFormat format = *format_of(*bytes);
      const cv::Mat stored = format == ImageFormat::heif ? decode_heif(*bytes) : decode_plain(format, *bytes);
      if (!stored.empty() && !has_refusal(faults_)) turn_upright(stored);
    }
    LoadResult result;
    if (!has_refusal(faults_)) result.photo = std::move(photo_);
    result.faults = std::move(faults_);
    return result;
  }

 private:
  cv::Mat refuse(const char* code, std::string seen, std::string remedy) {
    faults_.push_back({code, Severity::refusal, std::move(seen), std::move(remedy), photo_name(file_), {}});
    return {};
  }

  cv::Mat refuse_damaged(std::int64_t width, std::int64_t height) {
    return refuse(
        "photo-truncated",
        fmt::format("The header promises {} x {} px, but the picture cannot be decoded: cut short or damaged.", width,
                    height),
        copy_again);
  }

  bool size_is_allowed(std::int64_t width, std::int64_t height) {
    const double megapixels = static_cast<double>(width) * static_cast<double>(height) / 1e6;
    if (megapixels > options_.max_megapixels)
      refuse("photo-too-large",
             fmt::format("The picture has {} x {} px, {:.0f} megapixels; the limit is {:g}.", width, height, megapixels,
                         options_.max_megapixels),
             "Export the photo smaller, or raise the limit (--max-megapixels).");
    else if (megapixels < options_.min_megapixels)
      refuse("photo-too-small",
             fmt::format("The picture has {} x {} px, {:.2f} megapixels; at least {:g} are needed.", width, height,
                         megapixels, options_.min_megapixels),
             "Give the camera's own file: a thumbnail, a screenshot or a copy shrunk by a messenger is too coarse to "
             "measure.");
    return !has_refusal(faults_);
  }

  cv::Mat decode_plain(ImageFormat format, Bytes bytes) {
    const auto header = read_image_header(format, bytes);
    if (!header)
      return refuse(
          "photo-truncated",
          fmt::format("The file ends or is damaged before it tells the picture's size ({} bytes).", bytes.size()),
          copy_again);
    if (header->raw_sensor_data)
      return refuse("photo-not-a-picture", "The file is a camera's raw data (DNG).",
                    "Export the photo as JPEG, at full size, and give that file.");
    if (!size_is_allowed(header->width, header->height)) return {};
    photo_.exif = format == ImageFormat::tiff ? read_tiff_exif(bytes) : read_exif(header->exif);
    // OpenCV turns TIFF pictures upright itself, whatever its flags say.
    turn_ = format == ImageFormat::tiff ? 1 : photo_.exif.orientation;
    if (format == ImageFormat::jpeg) {
      const PartialJpeg jpeg = read_jpeg(bytes);
      photo_.coding = jpeg.coding;
      if (!jpeg_is_complete(bytes)) return partly(jpeg, *header);
      if (!jpeg.bgr.empty() && jpeg.whole_rows == jpeg.bgr.rows &&
          static_cast<std::int64_t>(jpeg.bgr.total()) == header->width * header->height)
        return jpeg.bgr;
      // Damaged within, or in print colours: OpenCV makes of it what can be made.
    }
    const cv::Mat file(1, static_cast<int>(bytes.size()), CV_8UC1, const_cast<std::uint8_t*>(bytes.data()));
    const int flags =
        format == ImageFormat::jpeg ? cv::IMREAD_COLOR | cv::IMREAD_IGNORE_ORIENTATION : cv::IMREAD_UNCHANGED;
    const cv::Mat stored = cv::imdecode(file, flags);
    if (stored.empty() || static_cast<std::int64_t>(stored.total()) != header->width * header->height)
      return refuse_damaged(header->width, header->height);
    return converted(stored);
  }

  /// Of a JPEG that was cut short what there is.
  cv::Mat partly(const PartialJpeg& partial, const ImageHeader& header) {
    if (partial.bgr.empty() || partial.bgr.cols != header.width || partial.bgr.rows != header.height)
      return refuse_damaged(header.width, header.height);
    const int rows = partial.bgr.rows;
    photo_.intact = static_cast<double>(partial.whole_rows) / rows;
    photo_.intact_part = {0, 0, partial.bgr.cols, partial.whole_rows};
    if (partial.whole_rows == rows) return partial.bgr;
    const std::string seen = fmt::format("The file breaks off: {} of the picture's {} rows ({:.0f} %) could be read",
                                         partial.whole_rows, rows, 100 * photo_.intact);
    if (photo_.intact < options_.min_intact)
      return refuse("photo-truncated",
                    fmt::format("{}; at least {:.0f} % are needed.", seen, 100 * options_.min_intact), copy_again);
    faults_.push_back({"photo-truncated",
                       Severity::warning,
                       seen + "; the rest is black.",
                       std::string(copy_again) + " Nothing is measured in the part that is missing.",
                       photo_.name,
                       {}});
    return partial.bgr;
  }

  cv::Mat decode_heif(Bytes bytes) {
    HeifPicture picture(bytes);
    if (!picture.is_open()) return refuse_heif(picture);
    if (!size_is_allowed(picture.width(), picture.height())) return {};
    photo_.exif = picture.exif();
    const cv::Mat decoded = picture.decode();
    return decoded.empty() ? refuse_heif(picture) : converted(decoded);
  }

  cv::Mat refuse_heif(const HeifPicture& picture) {
    if (picture.unsupported())
      return refuse("photo-unreadable", fmt::format("This kind of HEIC cannot be decoded here: {}.", picture.problem()),
                    "Set the camera to save JPEG, or export the photo as JPEG at full size.");
    return refuse("photo-truncated", fmt::format("The HEIC file is cut short or damaged: {}.", picture.problem()),
                  copy_again);
  }

  cv::Mat converted(const cv::Mat& stored) {
    cv::Mat bgr = to_bgr8(stored);
    if (!bgr.empty()) return bgr;
    return refuse("photo-not-a-picture",
                  fmt::format("The file stores {} channels of {}-bit samples that are no brightness values.",
                              stored.channels(), 8 * stored.elemSize1()),
                  "Export the photo as JPEG, or as PNG or TIFF with 8 or 16 bits.");
  }

  void turn_upright(const cv::Mat& stored) {
    if (photo_.intact == 1) photo_.intact_part = {0, 0, stored.cols, stored.rows};
    photo_.intact_part = upright_part(photo_.intact_part, stored.size(), turn_);
    photo_.bgr = upright(stored, turn_);
  }

  const std::filesystem::path& file_;
  const LoadOptions& options_;
  Faults faults_;
  Photo photo_;
  /// orientation that is still to be undone: 1 where the decoder has done it
  int turn_ = 1;
};

LoadResult refused(const std::filesystem::path& file, const char* code, std::string seen, std::string remedy) {
  return {std::nullopt, {{code, Severity::refusal, std::move(seen), std::move(remedy), photo_name(file), {}}}};
}

}  // namespace

void check(const LoadOptions& o) {
  constexpr double most = 2000;  // megapixels: 6 GB decoded
  check_option("least size of a photo, Mpx,", o.min_megapixels, 0, most);
  check_option("largest size of a photo, Mpx,", o.max_megapixels, 0, most);
  check_option("least share of a photo's rows", o.min_intact, 0, 1);
}

LoadResult load_photo(const std::filesystem::path& file, const LoadOptions& options) {
  check(options);
  try {
    return Loader(file, options).run();
  } catch (const std::bad_alloc&) {
    return refused(file, "photo-failed", "There is not enough memory for this picture.",
                   "Close other programs, use fewer threads, or export the photo smaller.");
  } catch (const std::exception& problem) {  // a decoder's own exceptions, OpenCV's above all
    return refused(file, "photo-unreadable", fmt::format("The picture could not be decoded: {}", problem.what()),
                   "Export the photo as JPEG, at full size, and give that file.");
  }
}

cv::Mat upright(const cv::Mat& stored, int orientation) {
  const Turn turn = turn_of(orientation);
  cv::Mat turned;
  if (turn.transpose)
    cv::transpose(stored, turned);
  else
    turned = stored;
  if (!turn.flip_x && !turn.flip_y) return turned;
  // In place where the pixels are ours already.
  cv::Mat flipped = turn.transpose ? turned : cv::Mat();
  cv::flip(turned, flipped, turn.flip_x && turn.flip_y ? -1 : turn.flip_x ? 1 : 0);
  return flipped;
}

}  // namespace chalkfold::capture
