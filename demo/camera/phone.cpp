// SPDX-License-Identifier: Apache-2.0
#include "demo/camera/phone.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <opencv2/imgproc.hpp>
#include <vector>

#include "demo/base/noise.h"
#include "demo/camera/tone_table.h"
#include "pipeline/common/check_option.h"
#include "pipeline/common/require.h"

namespace chalkfold::demo {

namespace {

constexpr int border = cv::BORDER_REFLECT_101;  // keeps a mosaic's phases
/// What the sensor sees of white before it is balanced, B G R.
constexpr std::array<float, 3> raw_white = {1 / 2.0F, 1, 1 / 1.7F};
/// BGR channel of a mosaic's pixel, by row and column both taken modulo 2.
constexpr std::array<std::array<int, 2>, 2> mosaic_channel = {{{2, 1}, {1, 0}}};

template <class Row>
void for_rows(int rows, const Row& row) {
  cv::parallel_for_({0, rows}, [&](const cv::Range& range) {
    for (int y = range.start; y < range.end; ++y) row(y);
  });
}

void widen_colour(cv::Mat& light, double px) {
  if (!(px > 0)) return;
  const double cx = (light.cols - 1) / 2.0, cy = (light.rows - 1) / 2.0, corner = std::hypot(cx, cy);
  std::vector<cv::Mat> channels;
  cv::split(light, channels);
  for (const auto& [channel, scale] : {std::pair{2, 1 + px / corner}, std::pair{0, 1 - px / corner}}) {
    const cv::Matx23d larger(scale, 0, cx * (1 - scale), 0, scale, cy * (1 - scale));
    cv::Mat& c = channels[static_cast<std::size_t>(channel)];
    cv::Mat drawn;
    cv::warpAffine(c, drawn, larger, c.size(), cv::INTER_CUBIC, border);
    c = cv::max(drawn, 0);
  }
  cv::merge(channels, light);
}

/// The hand's way over the picture, each of its places shared by the four pixels around it.
cv::Mat motion_kernel(double length_px, double direction) {
  constexpr int places = 41;
  const int half = static_cast<int>(std::ceil(length_px / 2)) + 1;
  cv::Mat kernel(2 * half + 1, 2 * half + 1, CV_32F, cv::Scalar(0));
  for (int k = 0; k < places; ++k) {
    const double along = length_px * (static_cast<double>(k) / (places - 1) - 0.5);
    const double x = half + along * std::cos(direction), y = half + along * std::sin(direction);
    const int column = static_cast<int>(x), row = static_cast<int>(y);
    const double u = x - column, v = y - row;
    const auto give = [&](int r, int c, double share) {
      if (share > 0) kernel.at<float>(r, c) += static_cast<float>(share / places);
    };
    give(row, column, (1 - u) * (1 - v));
    give(row, column + 1, u * (1 - v));
    give(row + 1, column, (1 - u) * v);
    give(row + 1, column + 1, u * v);
  }
  return kernel;
}

cv::Mat mosaic(const cv::Mat& light, double iso, std::uint64_t seed) {
  const double gain = iso / 100;
  const auto shot = static_cast<float>(1.2e-4 * gain);  // variance per unit of light: 1 over 8000 electrons
  const auto read = static_cast<float>((6e-4 * gain) * (6e-4 * gain));  // variance
  cv::Mat out(light.size(), CV_32F);
  for_rows(light.rows, [&](int y) {
    const auto* from = light.ptr<cv::Vec3f>(y);
    auto* to = out.ptr<float>(y);
    const std::uint64_t row_seed = mixed(seed ^ 0x0F07ULL) + (static_cast<std::uint64_t>(y) << 32);
    for (int x = 0; x < light.cols; ++x) {
      const int channel = mosaic_channel[static_cast<std::size_t>(y & 1)][static_cast<std::size_t>(x & 1)];
      const float raw = std::max(0.0F, from[x][channel]) * raw_white[static_cast<std::size_t>(channel)];
      to[x] = raw + normal_from(mixed(row_seed + static_cast<std::uint64_t>(x))) * std::sqrt(shot * raw + read);
    }
  });
  return out;
}

using Kernel5 = std::array<float, 25>;
/// Malvar, He and Cutler (2004), figure 2, in eighths.
constexpr Kernel5 green_at_colour = {0, 0, -1, 0, 0, 0, 0, 2, 0, 0, -1, 2, 4, 2, -1, 0, 0, 2, 0, 0, 0, 0, -1, 0, 0};
constexpr Kernel5 colour_beside = {0, 0, .5F, 0, 0, 0, -1, 0, -1, 0, -1, 4, 5, 4, -1, 0, -1, 0, -1, 0, 0, 0, .5F, 0, 0};
constexpr Kernel5 colour_above = {0, 0, -1, 0, 0, 0, -1, 4, -1, 0, .5F, 0, 5, 0, .5F, 0, -1, 4, -1, 0, 0, 0, -1, 0, 0};
constexpr Kernel5 colour_across = {0, 0,     -1.5F, 0, 0, 0, 2, 0, 2, 0,     -1.5F, 0, 6,
                                   0, -1.5F, 0,     2, 0, 2, 0, 0, 0, -1.5F, 0,     0};

cv::Mat filtered(const cv::Mat& raw, const Kernel5& eighths) {
  const cv::Mat kernel = cv::Mat(5, 5, CV_32F, const_cast<float*>(eighths.data())) / 8;
  cv::Mat out;
  cv::filter2D(raw, out, -1, kernel, {-1, -1}, 0, border);
  return out;
}

/// B G R, balanced, 0 to 1.
cv::Mat demosaiced(const cv::Mat& raw) {
  const cv::Mat green = filtered(raw, green_at_colour), beside = filtered(raw, colour_beside),
                above = filtered(raw, colour_above), across = filtered(raw, colour_across);
  cv::Mat out(raw.size(), CV_32FC3);
  for_rows(raw.rows, [&](int y) {
    auto* to = out.ptr<cv::Vec3f>(y);
    for (int x = 0; x < raw.cols; ++x) {
      const int own = mosaic_channel[static_cast<std::size_t>(y & 1)][static_cast<std::size_t>(x & 1)];
      cv::Vec3f& c = to[x];
      c[own] = raw.at<float>(y, x);
      if (own == 1) {  // the row's own colour lies to the left and right, the other one above and below
        const int in_row = (y & 1) == 0 ? 2 : 0;
        c[in_row] = beside.at<float>(y, x);
        c[2 - in_row] = above.at<float>(y, x);
      } else {
        c[1] = green.at<float>(y, x);
        c[2 - own] = across.at<float>(y, x);
      }
      for (int k = 0; k < 3; ++k) c[k] = std::clamp(c[k] / raw_white[static_cast<std::size_t>(k)], 0.0F, 1.0F);
    }
  });
  return out;
}

/// sRGB codes, 0 to 255, in place.
void code(cv::Mat& picture) {
  const ToneTable tone;
  for_rows(picture.rows, [&](int y) {
    auto* row = picture.ptr<cv::Vec3f>(y);
    for (int x = 0; x < picture.cols; ++x) row[x] = {tone(row[x][0]), tone(row[x][1]), tone(row[x][2])};
  });
}

/// Brightness keeps a fifth of its noise, colour is smoothed further, as its halved resolution in the JPEG allows.
void remove_noise(cv::Mat& coded, const PhoneOptions& o) {
  if (!(o.denoise > 0)) return;
  constexpr double kept = 0.2, colour_blur_px = 1.2, colour_step = 12;
  const double step = 2 + 3.2 * std::sqrt(o.iso / 100) * o.denoise;  // codes: larger ones are edges
  cv::Mat ycc, smooth;
  cv::cvtColor(coded / 255, ycc, cv::COLOR_BGR2YCrCb);
  std::vector<cv::Mat> parts;
  cv::split(ycc, parts);
  cv::bilateralFilter(parts[0], smooth, 5, step / 255, 1.6);
  cv::addWeighted(smooth, 1 - kept, parts[0], kept, 0, parts[0]);
  for (int k = 1; k <= 2; ++k) {
    cv::Mat soft;
    cv::GaussianBlur(parts[static_cast<std::size_t>(k)], soft, {0, 0}, colour_blur_px);
    cv::bilateralFilter(soft, parts[static_cast<std::size_t>(k)], 7, colour_step / 255, 3);
  }
  cv::merge(parts, ycc);
  cv::cvtColor(ycc, coded, cv::COLOR_YCrCb2BGR);
  coded *= 255;
}

cv::Mat brightness(const cv::Mat& coded) {
  cv::Mat out;
  cv::cvtColor(coded, out, cv::COLOR_BGR2GRAY);
  return out;
}

/// Large bright and dark regions drawn towards the middle, what is smaller than some 150 px left as it is.
void map_tones(cv::Mat& coded, double share) {
  if (!(share > 0)) return;
  constexpr int coarse = 16;
  constexpr double middle = 118, most = 0.45,
                   lift = 5;  // codes; of a region's distance from the middle; keeps black from 1 / 0
  cv::Mat small, region, base, gain;
  cv::resize(brightness(coded), small, {coded.cols / coarse, coded.rows / coarse}, 0, 0, cv::INTER_AREA);
  cv::bilateralFilter(small, region, 0, 60, 20);
  cv::GaussianBlur(region, base, {0, 0}, 10);
  for (int y = 0; y < base.rows; ++y) {
    for (int x = 0; x < base.cols; ++x) {
      float& b = base.at<float>(y, x);
      const double target = middle + (b - middle) * (1 - most * share);
      b = static_cast<float>(std::clamp((target + lift) / (b + lift), 0.5, 2.2));
    }
  }
  cv::resize(base, gain, coded.size(), 0, 0, cv::INTER_CUBIC);
  for_rows(coded.rows, [&](int y) {
    auto* row = coded.ptr<cv::Vec3f>(y);
    for (int x = 0; x < coded.cols; ++x) row[x] *= gain.at<float>(y, x);
  });
}

/// A gentle S.
void raise_contrast(cv::Mat& coded) {
  for_rows(coded.rows, [&](int y) {
    auto* row = coded.ptr<float>(y);
    for (int k = 0; k < 3 * coded.cols; ++k) {
      const float x = std::clamp(row[k] / 255, 0.0F, 1.0F);
      row[k] = 255 * (x + 0.35F * x * (1 - x) * (2 * x - 1));
    }
  });
}

void sharpen(cv::Mat& coded, double strength) {
  if (!(strength > 0)) return;
  constexpr float most = 22, least = 0.8F;  // codes: halos end there; noise below is left alone
  constexpr float dark_share = 0.6F;        // halos on the dark side are kept smaller than those on the bright one
  const cv::Mat bright = brightness(coded);
  cv::Mat soft;
  cv::GaussianBlur(bright, soft, {0, 0}, 1.3);
  const auto amount = static_cast<float>(0.7 * strength);
  for_rows(coded.rows, [&](int y) {
    auto* row = coded.ptr<cv::Vec3f>(y);
    for (int x = 0; x < coded.cols; ++x) {
      const float d = std::clamp(amount * (bright.at<float>(y, x) - soft.at<float>(y, x)), -most, most);
      const float step = std::max(0.0F, std::abs(d) - least) * (d < 0 ? -dark_share : 1.0F);
      row[x] += cv::Vec3f(step, step, step);
    }
  });
}

}  // namespace

void PhoneOptions::check() const {
  check_option("iso", iso, 25, 12800);
  check_option("blur, px,", blur_px, 0, 10);
  check_option("motion, px,", motion_px, 0, 30);
  check_option("direction of motion, rad,", motion_direction, -2 * std::numbers::pi, 2 * std::numbers::pi);
  check_option("lateral colour, px,", lateral_colour_px, 0, 5);
  check_option("denoise", denoise, 0, 3);
  check_option("local tone mapping", local, 0, 1);
  check_option("sharpen", sharpen, 0, 3);
  check_option("JPEG quality", quality, 50, 100);
}

PhoneOptions random_phone(std::uint64_t seed) {
  Random random(mixed(seed) ^ 0xF07EULL);
  PhoneOptions o;
  o.iso = 100 * std::exp2(random.uniform(0, 4));
  o.sharpen = random.uniform(0.6, 1.6);
  o.local = random.uniform(0, 1);
  o.quality = random.integer(80, 95);
  o.motion_px = random.uniform(0, 3);
  o.motion_direction = random.uniform(0, std::numbers::pi);
  o.lateral_colour_px = random.uniform(0, 0.7);
  return o;
}

cv::Mat phone_picture(const cv::Mat& linear, const PhoneOptions& o, std::uint64_t seed) {
  o.check();
  constexpr int least_side = 16;
  require_at_least("width", linear.cols, least_side);
  require_at_least("height", linear.rows, least_side);
  cv::Mat picture = linear.clone();
  widen_colour(picture, o.lateral_colour_px);
  if (o.motion_px > 0)
    cv::filter2D(picture, picture, -1, motion_kernel(o.motion_px, o.motion_direction), {-1, -1}, 0, border);
  if (o.blur_px > 0) cv::GaussianBlur(picture, picture, {0, 0}, o.blur_px, o.blur_px, border);
  picture = demosaiced(mosaic(picture, o.iso, seed));
  code(picture);
  remove_noise(picture, o);
  map_tones(picture, o.local);
  raise_contrast(picture);
  sharpen(picture, o.sharpen);
  cv::Mat out;
  picture.convertTo(out, CV_8U);
  return out;
}

}  // namespace chalkfold::demo
