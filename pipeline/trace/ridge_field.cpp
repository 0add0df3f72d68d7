// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/ridge_field.h"

#include <array>
#include <cmath>
#include <opencv2/imgproc.hpp>

namespace chalkfold {
namespace {

constexpr int directions = 16;

/// Second derivatives of a pixel by central differences: xx, xy, yy. `at` points into a row of `channels` interleaved floats.
struct Second {
  float xx, xy, yy;
};

Second second_derivatives(const float* above, const float* at, const float* below, int channels) {
  const int c = channels;
  return {at[c] - 2 * at[0] + at[-c], 0.25f * (above[-c] - above[c] - below[-c] + below[c]),
          below[0] - 2 * at[0] + above[0]};
}

/// Larger eigenvalue of [[a, b], [b, c]] and its unit vector.
float top_eigen(float a, float b, float c, float& vx, float& vy) {
  const float half = 0.5f * (a - c), root = std::sqrt(half * half + b * b);
  vx = half >= 0 ? half + root : b;
  vy = half >= 0 ? b : root - half;
  const float norm = std::sqrt(vx * vx + vy * vy);
  if (norm > 0) {
    vx /= norm;
    vy /= norm;
  } else {
    vx = 1;
  }
  return 0.5f * (a + c) + root;
}

RidgeField empty_field(const cv::Size& size) {
  return {cv::Mat(size, CV_32FC1, cv::Scalar(0)), cv::Mat(size, CV_32FC2, cv::Scalar(1, 0))};
}

struct Tap {
  int dx, dy;
  float weight;
};

/// Gaussian along a direction, as whole-pixel steps some two pixels apart: the picture was smoothed by about as much.
std::vector<Tap> taps_along(double angle, double along_px) {
  constexpr double reach = 2.0;  // standard deviations
  const double longest = std::max(std::abs(std::cos(angle)), std::abs(std::sin(angle)));
  const int half = std::max(1, static_cast<int>(std::lround(reach * along_px * longest / 1.9)));
  std::vector<Tap> taps;
  float sum = 0;
  for (int k = -half; k <= half; ++k) {
    const double t = reach * along_px * k / half;
    const auto w = static_cast<float>(std::exp(-0.5 * t * t / (along_px * along_px)));
    taps.push_back({cvRound(t * std::cos(angle)), cvRound(t * std::sin(angle)), w});
    sum += w;
  }
  for (Tap& tap : taps) tap.weight /= sum;
  return taps;
}

/// Weighted sum of a row's neighbours at the taps, where they lie in the picture. A row at a time: it stays in the nearest cache.
void average_row(const cv::Mat& in, int y, const std::vector<Tap>& taps, std::vector<float>& out) {
  std::fill(out.begin(), out.end(), 0.0f);
  for (const Tap& tap : taps) {
    if (y + tap.dy < 0 || y + tap.dy >= in.rows) continue;
    const float* i = in.ptr<float>(y + tap.dy) + tap.dx;
    const int x1 = std::min(in.cols, in.cols - tap.dx);
    for (int x = std::max(0, -tap.dx); x < x1; ++x) out[static_cast<std::size_t>(x)] += tap.weight * i[x];
  }
}

float bilinear(const cv::Mat& m, double x, double y) {
  const int ix = static_cast<int>(x), iy = static_cast<int>(y);
  const auto u = static_cast<float>(x - ix), v = static_cast<float>(y - iy);
  const float *a = m.ptr<float>(iy) + ix, *b = m.ptr<float>(iy + 1) + ix;
  return (1 - v) * ((1 - u) * a[0] + u * a[1]) + v * ((1 - u) * b[0] + u * b[1]);
}

void set_directions(const cv::Mat& number, cv::Mat& direction) {
  std::array<cv::Vec2f, directions> along;
  for (int d = 0; d < directions; ++d) {
    const double angle = M_PI * d / directions;
    along[static_cast<std::size_t>(d)] = {static_cast<float>(std::cos(angle)), static_cast<float>(std::sin(angle))};
  }
  for (int y = 0; y < number.rows; ++y) {
    const int* which = number.ptr<int>(y);
    auto* out = direction.ptr<cv::Vec2f>(y);
    for (int x = 0; x < number.cols; ++x) out[x] = along[static_cast<std::size_t>(which[x])];
  }
}

}  // namespace

RidgeField colour_ridges(const cv::Mat& picture, double sigma_px) {
  cv::Mat smooth;
  cv::GaussianBlur(picture, smooth, {}, sigma_px, sigma_px, cv::BORDER_REPLICATE);
  RidgeField field = empty_field(picture.size());
  const auto norm = static_cast<float>(sigma_px * sigma_px);
  for (int y = 1; y + 1 < picture.rows; ++y) {
    const float *above = smooth.ptr<float>(y - 1), *row = smooth.ptr<float>(y), *below = smooth.ptr<float>(y + 1);
    float* strength = field.strength.ptr<float>(y);
    auto* direction = field.direction.ptr<cv::Vec2f>(y);
    for (int x = 1; x + 1 < picture.cols; ++x) {
      float a = 0, b = 0, c = 0;
      for (int k = 0; k < 3; ++k) {
        const Second h = second_derivatives(above + 3 * x + k, row + 3 * x + k, below + 3 * x + k, 3);
        a += h.xx * h.xx + h.xy * h.xy;
        b += h.xy * (h.xx + h.yy);
        c += h.xy * h.xy + h.yy * h.yy;
      }
      float across_x = 0, across_y = 0;
      strength[x] = norm * std::sqrt(std::max(0.0f, top_eigen(a, b, c, across_x, across_y)));
      direction[x] = cv::Vec2f(-across_y, across_x);
    }
  }
  return field;
}

RidgeField long_ridges(const cv::Mat& picture, double sigma_px, double along_px) {
  cv::Mat smooth;
  cv::GaussianBlur(picture, smooth, {}, sigma_px, sigma_px, cv::BORDER_REPLICATE);
  const cv::Size size = picture.size();
  cv::Mat xx(size, CV_32F, cv::Scalar(0)), xy = xx.clone(), yy = xx.clone();
  for (int y = 1; y + 1 < size.height; ++y) {
    const float *above = smooth.ptr<float>(y - 1), *row = smooth.ptr<float>(y), *below = smooth.ptr<float>(y + 1);
    float *pxx = xx.ptr<float>(y), *pxy = xy.ptr<float>(y), *pyy = yy.ptr<float>(y);
    for (int x = 1; x + 1 < size.width; ++x) {
      const Second h = second_derivatives(above + x, row + x, below + x, 1);
      pxx[x] = h.xx;
      pxy[x] = h.xy;
      pyy[x] = h.yy;
    }
  }
  RidgeField field = empty_field(size);
  const double norm = sigma_px * sigma_px;
  cv::Mat across(size, CV_32F),
      number(size, CV_32S, cv::Scalar(0));  // of the direction in which each pixel is strongest
  std::vector<float> averaged(static_cast<std::size_t>(size.width));
  for (int d = 0; d < directions; ++d) {
    const double angle = M_PI * d / directions;  // of the line
    const double nx = -std::sin(angle), ny = std::cos(angle);
    const auto wxx = static_cast<float>(-norm * nx * nx), wxy = static_cast<float>(-2 * norm * nx * ny),
               wyy = static_cast<float>(-norm * ny * ny);
    for (int y = 0; y < size.height; ++y) {
      const float *pxx = xx.ptr<float>(y), *pxy = xy.ptr<float>(y), *pyy = yy.ptr<float>(y);
      float* out = across.ptr<float>(y);
      for (int x = 0; x < size.width; ++x) out[x] = wxx * pxx[x] + wxy * pxy[x] + wyy * pyy[x];
    }
    const std::vector<Tap> taps = taps_along(angle, along_px);
    for (int y = 0; y < size.height; ++y) {
      average_row(across, y, taps, averaged);
      const float* in = averaged.data();
      float* best = field.strength.ptr<float>(y);
      int* which = number.ptr<int>(y);
      for (int x = 0; x < size.width; ++x) {  // without a branch: four pixels at a time
        which[x] = in[x] > best[x] ? d : which[x];
        best[x] = std::max(best[x], in[x]);
      }
    }
  }
  set_directions(number, field.direction);
  return field;
}

std::vector<CrestPoint> crest_points(const RidgeField& field, double least) {
  std::vector<CrestPoint> points;
  for (int y = 2; y + 3 < field.strength.rows; ++y) {
    const float* row = field.strength.ptr<float>(y);
    const auto* direction = field.direction.ptr<cv::Vec2f>(y);
    for (int x = 2; x + 3 < field.strength.cols; ++x) {
      if (row[x] < least) continue;
      const double ax = direction[x][0], ay = direction[x][1];
      // As far across as brings one of the two coordinates onto the pixel grid: less is left to interpolation.
      const double far = 1 / std::max(std::abs(ax), std::abs(ay)), nx = -ay * far, ny = ax * far;
      const double left = bilinear(field.strength, x - nx, y - ny), here = row[x],
                   right = bilinear(field.strength, x + nx, y + ny);
      if (left > here || right >= here) continue;
      const double bend = left - 2 * here + right, t = bend < 0 ? 0.5 * (left - right) / bend : 0;
      points.push_back({{x, y}, Vec2(x + t * nx, y + t * ny), Vec2(ax, ay), row[x]});
    }
  }
  return points;
}

}  // namespace chalkfold
