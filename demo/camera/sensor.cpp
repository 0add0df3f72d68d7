// SPDX-License-Identifier: Apache-2.0
#include "demo/camera/sensor.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "demo/base/noise.h"
#include "demo/camera/tone_table.h"

namespace chalkfold::demo {

namespace {

constexpr double sharpening_sigma_px = 1.2;
constexpr int sharpening_radius = 4;  // px
constexpr int band = 128;             // rows developed at a time

int blur_radius(const Sensor& sensor) {
  return sensor.blur_px > 0 ? static_cast<int>(std::ceil(4 * sensor.blur_px)) : 0;
}

/// Rows [from, to) of the blurred light.
cv::Mat blurred_rows(const cv::Mat& light, const Sensor& sensor, int from, int to) {
  const int radius = blur_radius(sensor);
  const int first = std::max(0, from - radius), last = std::min(light.rows, to + radius);
  cv::Mat part = light.rowRange(first, last).clone(), out;
  if (radius > 0) {
    cv::GaussianBlur(part, part, {2 * radius + 1, 2 * radius + 1}, sensor.blur_px, sensor.blur_px,
                     cv::BORDER_REPLICATE | cv::BORDER_ISOLATED);
  }
  out = part.rowRange(from - first, to - first);
  const double cx = (light.cols - 1) / 2.0, cy = (light.rows - 1) / 2.0, corner = cx * cx + cy * cy;
  for (int y = from; y < to; ++y) {
    auto* row = out.ptr<cv::Vec3f>(y - from);
    for (int x = 0; x < out.cols; ++x) {
      const double r2 = ((x - cx) * (x - cx) + (y - cy) * (y - cy)) / corner;
      row[x] *= static_cast<float>(sensor.exposure * (1 - sensor.vignetting * r2));
    }
  }
  return out;
}

void add_noise(cv::Mat& rows, const Sensor& sensor, std::uint64_t seed, int first_row) {
  if (!(sensor.shot_noise > 0) && !(sensor.read_noise > 0)) return;
  const auto shot = static_cast<float>(sensor.shot_noise),
             read = static_cast<float>(sensor.read_noise * sensor.read_noise);
  for (int y = 0; y < rows.rows; ++y) {
    auto* row = rows.ptr<cv::Vec3f>(y);
    const std::uint64_t row_seed = mixed(seed) + (static_cast<std::uint64_t>(first_row + y) << 32);
    for (int x = 0; x < rows.cols; ++x) {
      for (int c = 0; c < 3; ++c) {
        const float n = normal_from(mixed(row_seed + static_cast<std::uint64_t>(3 * x + c)));
        row[x][c] += n * std::sqrt(std::max(0.0F, shot * row[x][c]) + read);
      }
    }
  }
}

void develop_band(const cv::Mat& light, const Sensor& sensor, std::uint64_t seed, const ToneTable& tone, int from,
                  cv::Mat& out) {
  const int to = std::min(from + band, light.rows);
  const int extra = sensor.sharpening > 0 ? sharpening_radius : 0;
  const int first = std::max(0, from - extra), last = std::min(light.rows, to + extra);
  cv::Mat coded = blurred_rows(light, sensor, first, last);
  add_noise(coded, sensor, seed, first);
  for (int y = 0; y < coded.rows; ++y) {
    auto* row = coded.ptr<cv::Vec3f>(y);
    for (int x = 0; x < coded.cols; ++x) row[x] = {tone(row[x][0]), tone(row[x][1]), tone(row[x][2])};
  }
  if (sensor.sharpening > 0) {
    cv::Mat soft;
    const int size = 2 * sharpening_radius + 1;
    cv::GaussianBlur(coded, soft, {size, size}, sharpening_sigma_px, sharpening_sigma_px,
                     cv::BORDER_REPLICATE | cv::BORDER_ISOLATED);
    coded = (1 + sensor.sharpening) * coded - sensor.sharpening * soft;
  }
  coded.rowRange(from - first, to - first).convertTo(out.rowRange(from, to), CV_8U);
}

}  // namespace

Sensor phone_sensor() {
  Sensor s;
  s.vignetting = 0.18;
  s.shot_noise = 0.00012;
  s.read_noise = 0.0015;
  s.sharpening = 0.25;
  return s;
}

cv::Mat blurred(const cv::Mat& light, const Sensor& sensor) { return blurred_rows(light, sensor, 0, light.rows); }

cv::Mat developed(const cv::Mat& light, const Sensor& sensor, std::uint64_t seed) {
  cv::Mat out(light.size(), CV_8UC3);
  const ToneTable tone;
  const int bands = (light.rows + band - 1) / band;
  cv::parallel_for_({0, bands}, [&](const cv::Range& range) {
    for (int b = range.start; b < range.end; ++b) develop_band(light, sensor, seed, tone, b * band, out);
  });
  return out;
}

}  // namespace chalkfold::demo
