// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/pictures/pictures.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>
#include <stdexcept>

#include "pipeline/common/require.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/output/pictures/picture_labels.h"

namespace chalkfold::output {

namespace {
constexpr int band_rows = 128;  // rows mapped at a time, so that the full map never stands in memory
const cv::Scalar outside_photo(224, 224, 224);

/// Photo px of the picture's pixels in rows [row, row + rows), CV_32FC2, from a grid of exact points.
cv::Mat map_of_band(const PhotoFromTable& photo_from_table, const PictureFrame& frame, int row, int rows, int grid_px) {
  const int grid_columns = (frame.width_px - 1) / grid_px + 2, grid_rows = (rows - 1) / grid_px + 2;
  std::vector<Vec2> nodes(static_cast<std::size_t>(grid_columns) * static_cast<std::size_t>(grid_rows));
  const auto node = [&](int j, int i) -> Vec2& {
    return nodes[static_cast<std::size_t>(j) * static_cast<std::size_t>(grid_columns) + static_cast<std::size_t>(i)];
  };
  for (int j = 0; j < grid_rows; ++j) {
    for (int i = 0; i < grid_columns; ++i) {
      node(j, i) = photo_from_table(frame.table_from_picture({i * grid_px + 0.5, row + j * grid_px + 0.5}));
    }
  }
  cv::Mat map(rows, frame.width_px, CV_32FC2);
  for (int y = 0; y < rows; ++y) {
    const int j = y / grid_px;
    const double v = static_cast<double>(y % grid_px) / grid_px;
    auto* out = map.ptr<cv::Vec2f>(y);
    for (int x = 0; x < frame.width_px; ++x) {
      const int i = x / grid_px;
      const double u = static_cast<double>(x % grid_px) / grid_px;
      const Vec2 p = (1 - v) * ((1 - u) * node(j, i) + u * node(j, i + 1)) +
                     v * ((1 - u) * node(j + 1, i) + u * node(j + 1, i + 1));
      out[x] = cv::Vec2f(static_cast<float>(p.x()), static_cast<float>(p.y()));
    }
  }
  return map;
}

/// The part of the photo that a band needs (remap takes no picture wider than 32767 px), or an empty rectangle.
cv::Rect photo_part(const cv::Mat& map, const cv::Size& photo) {
  std::vector<cv::Mat> xy;
  cv::split(map, xy);
  double x0 = 0, x1 = 0, y0 = 0, y1 = 0;
  cv::minMaxLoc(xy[0], &x0, &x1);
  cv::minMaxLoc(xy[1], &y0, &y1);
  if (!(x1 > -1 && y1 > -1 && x0 < photo.width && y0 < photo.height)) return {};
  const auto inside = [](double value, int size) {
    return static_cast<int>(std::clamp(value, 0.0, static_cast<double>(size)));
  };
  const cv::Point low(inside(std::floor(x0) - 2, photo.width), inside(std::floor(y0) - 2, photo.height));
  const cv::Point high(inside(std::ceil(x1) + 3, photo.width), inside(std::ceil(y1) + 3, photo.height));
  return {low, high};
}

std::string jpeg_of(const cv::Mat& picture, const PictureOptions& options) {
  std::vector<unsigned char> bytes;
  if (!cv::imencode(".jpg", picture, bytes, {cv::IMWRITE_JPEG_QUALITY, options.jpeg_quality})) {
    throw std::logic_error("a panel's picture could not be encoded");
  }
  return {bytes.begin(), bytes.end()};
}
}  // namespace

cv::Mat rectified(const cv::Mat& photo_bgr, const PhotoFromTable& photo_from_table, const PictureFrame& frame,
                  int grid_px) {
  require_at_least("width of the frame, px,", frame.width_px, 1);
  require_at_least("height of the frame, px,", frame.height_px, 1);
  require_at_least("grid of the picture, px,", grid_px, 1);
  require(photo_bgr.type() == CV_8UC3, "the photo has no pixels of three bytes");
  cv::Mat picture(frame.height_px, frame.width_px, CV_8UC3, outside_photo);
  for (int row = 0; row < frame.height_px; row += band_rows) {
    const int rows = std::min(band_rows, frame.height_px - row);
    cv::Mat map = map_of_band(photo_from_table, frame, row, rows, grid_px);
    const cv::Rect part = photo_part(map, photo_bgr.size());
    if (part.empty()) continue;
    map -= cv::Scalar(part.x, part.y);
    cv::Mat band = picture.rowRange(row, row + rows);
    cv::remap(photo_bgr(part), band, map, cv::noArray(), cv::INTER_LINEAR, cv::BORDER_CONSTANT, outside_photo);
  }
  return picture;
}

std::string panel_picture_jpeg(const cv::Mat& photo_bgr, const PhotoFromTable& photo_from_table,
                               const panel::Panel& panel, const PictureOptions& options) {
  const PictureFrame frame = frame_around(panel, options);
  return panel_picture_jpeg(rectified(photo_bgr, photo_from_table, frame, options.grid_px), frame, panel, options);
}

std::string panel_picture_jpeg(const cv::Mat& rectified, const PictureFrame& frame, const panel::Panel& panel,
                               const PictureOptions& options) {
  return jpeg_of(with_labels(rectified, frame, panel, options), options);
}

std::string crop_jpeg(const cv::Mat& photo_bgr, const PhotoFromTable& photo_from_table, const Vec2& low,
                      const Vec2& high, double margin, const PictureOptions& options) {
  PictureFrame frame;
  frame.mm_per_px = options.mm_per_px / 4;
  frame.left = low.x() - margin;
  frame.top = high.y() + margin;
  frame.width_px = static_cast<int>(std::ceil((high.x() - low.x() + 2 * margin) / frame.mm_per_px));
  frame.height_px = static_cast<int>(std::ceil((high.y() - low.y() + 2 * margin) / frame.mm_per_px));
  return jpeg_of(rectified(photo_bgr, photo_from_table, frame, options.grid_px), options);
}

std::string png_of(const cv::Mat& picture) {
  std::vector<unsigned char> bytes;
  if (!cv::imencode(".png", picture, bytes)) throw std::logic_error("a stage's picture could not be encoded");
  return {bytes.begin(), bytes.end()};
}

}  // namespace chalkfold::output
