// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/base/table_raster.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <opencv2/imgproc.hpp>
#include <vector>

namespace chalkfold::trace {
namespace {

/// Means of whole numbers of 8 bits by their sum, rounded as OpenCV does.
std::vector<std::uint8_t> means_by_sum(int count) {
  const float share = 1.0f / static_cast<float>(count);
  std::vector<std::uint8_t> means(static_cast<std::size_t>(255 * count + 1));
  for (std::size_t sum = 0; sum < means.size(); ++sum)
    means[sum] = cv::saturate_cast<std::uint8_t>(static_cast<float>(sum) * share);
  return means;
}

}  // namespace

TableRaster raster_over(const geometry::Box& box, double mm_per_px) {
  TableRaster raster;
  raster.mm_per_px = mm_per_px;
  raster.top_left = Vec2(box.min.x(), box.max.y());
  raster.size = cv::Size(static_cast<int>(std::ceil(box.size().x() / mm_per_px)) + 1,
                         static_cast<int>(std::ceil(box.size().y() / mm_per_px)) + 1);
  return raster;
}

Polyline visible_table(const survey::TableView& view, double height, double reach) {
  const int w = view.solution().width, h = view.solution().height;
  const Vec2 foot = view.camera_foot();
  const double limit = reach * view.camera_height();
  Polyline border;
  constexpr int steps = 16;  // a side; enough for the lens's bend to stay under a millimetre
  const auto add = [&](double x, double y) {
    const Vec2 p = view.table_from_photo({x, y}, height);
    // Above the horizon the ray meets the table behind the camera; such points and far ones are pulled in to the limit.
    const Vec2 back = view.photo_from_table(p, height);
    const bool behind = !(std::abs(back.x() - x) < 2 && std::abs(back.y() - y) < 2);
    const Vec2 away = behind ? foot - p : p - foot;
    border.push_back(!behind && away.norm() <= limit ? p : foot + limit / std::max(away.norm(), 1e-9) * away);
  };
  for (int i = 0; i < steps; ++i) add((w - 1.0) * i / steps, 0);
  for (int i = 0; i < steps; ++i) add(w - 1.0, (h - 1.0) * i / steps);
  for (int i = 0; i < steps; ++i) add((w - 1.0) * (steps - i) / steps, h - 1.0);
  for (int i = 0; i < steps; ++i) add(0, (h - 1.0) * (steps - i) / steps);
  return border;
}

cv::Mat reduced_by(int times, const cv::Mat& photo_bgr) {
  constexpr int most = 16;  // times: the table of means has 65 281 places then
  const cv::Size size = photo_bgr.size() / times;
  cv::Mat out;
  if (times <= 2 || times > most || size * times != photo_bgr.size()) {  // halves are as quick there
    cv::resize(photo_bgr, out, {}, 1.0 / times, 1.0 / times, cv::INTER_AREA);
    return out;
  }
  out.create(size, CV_8UC3);
  const std::vector<std::uint8_t> means = means_by_sum(times * times);
  std::vector<std::uint16_t> columns(static_cast<std::size_t>(3 * photo_bgr.cols));
  for (int y = 0; y < size.height; ++y) {
    std::fill(columns.begin(), columns.end(), std::uint16_t{0});
    for (int r = 0; r < times; ++r) {
      const auto* row = photo_bgr.ptr<std::uint8_t>(y * times + r);
      for (std::size_t i = 0; i < columns.size(); ++i) columns[i] = static_cast<std::uint16_t>(columns[i] + row[i]);
    }
    const std::uint16_t* in = columns.data();
    for (int x = 0; x < size.width; ++x, in += 3 * std::ptrdiff_t{times}) {
      std::array<unsigned, 3> sum{};
      for (int k = 0; k < times; ++k)
        for (std::size_t c = 0; c < 3; ++c) sum[c] += in[3 * static_cast<std::size_t>(k) + c];
      out.at<cv::Vec3b>(y, x) = {means[sum[0]], means[sum[1]], means[sum[2]]};
    }
  }
  return out;
}

cv::Mat photo_map(const TableRaster& raster, const survey::TableView& view, double height, double photo_scale,
                  int step) {
  const int columns = (raster.size.width - 1) / step + 2, rows = (raster.size.height - 1) / step + 2;
  cv::Mat nodes(rows, columns, CV_32FC2);
  for (int r = 0; r < rows; ++r) {
    for (int c = 0; c < columns; ++c) {
      const Vec2 p = view.photo_from_table(
          raster.table_from_raster({static_cast<double>(c * step), static_cast<double>(r * step)}), height);
      // Pixel centres: a reduced photo's pixel (i) covers scaled coordinates around (i + 0.5) / scale - 0.5.
      nodes.at<cv::Vec2f>(r, c) = cv::Vec2f(static_cast<float>((p.x() + 0.5) * photo_scale - 0.5),
                                            static_cast<float>((p.y() + 0.5) * photo_scale - 0.5));
    }
  }
  cv::Mat map(raster.size, CV_32FC2);
  for (int y = 0; y < raster.size.height; ++y) {
    const int r = y / step;
    const float v = static_cast<float>(y - r * step) / static_cast<float>(step);
    auto* out = map.ptr<cv::Vec2f>(y);
    const auto *above = nodes.ptr<cv::Vec2f>(r), *below = nodes.ptr<cv::Vec2f>(r + 1);
    for (int c = 0; c + 1 < columns; ++c) {
      const cv::Vec2f left = above[c] * (1 - v) + below[c] * v, right = above[c + 1] * (1 - v) + below[c + 1] * v;
      const cv::Vec2f slope = (right - left) * (1.0f / static_cast<float>(step));
      const int end = std::min(raster.size.width, (c + 1) * step);
      for (int x = c * step; x < end; ++x) out[x] = left + slope * static_cast<float>(x - c * step);
    }
  }
  return map;
}

}  // namespace chalkfold::trace
