// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/chalk/ridge_field.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <cstring>
#include <opencv2/core/hal/intrin.hpp>
#include <opencv2/imgproc.hpp>
#include <vector>

namespace chalkfold::trace {
namespace {

// 11 degrees apart: half of one off, the farthest taps lie 0.6 mm beside the stroke's middle
constexpr int directions = 16;

/// Second derivatives of a pixel by central differences: xx, xy, yy. `at` points into a row.
struct Second {
  float xx, xy, yy;
};

Second second_derivatives(const float* above, const float* at, const float* below) {
  return {at[1] - 2 * at[0] + at[-1], 0.25f * (above[-1] - above[1] - below[-1] + below[1]),
          below[0] - 2 * at[0] + above[0]};
}

/// The same of four pixels at once, from the 3 x 3 pixels around each: [row][column].
using Four = cv::v_float32x4;
struct SecondOfFour {
  Four xx, xy, yy;
};

SecondOfFour second_derivatives(const std::array<std::array<Four, 3>, 3>& p) {
  const Four twice = cv::v_setall_f32(2) * p[1][1];
  return {p[1][2] - twice + p[1][0], cv::v_setall_f32(0.25f) * (p[0][0] - p[0][2] - p[2][0] + p[2][2]),
          p[2][1] - twice + p[0][1]};
}

/// Larger eigenvalue of [[a, b], [b, c]] and its unit vector, (1, 0) where all are alike.
Four top_eigen(const Four& a, const Four& b, const Four& c, Four& vx, Four& vy) {
  const Four zero = cv::v_setzero_f32(), one_half = cv::v_setall_f32(0.5f);
  const Four half = one_half * (a - c), root = cv::v_sqrt(half * half + b * b), mainly_x = half >= zero;
  vx = cv::v_select(mainly_x, half + root, b);
  vy = cv::v_select(mainly_x, b, root - half);
  const Four norm = cv::v_sqrt(vx * vx + vy * vy), some = norm > zero;
  vx = cv::v_select(some, vx / norm, cv::v_setall_f32(1));
  vy = cv::v_select(some, vy / norm, vy);
  return one_half * (a + c) + root;
}

/// Strength and direction of the ridges of four neighbouring pixels of a row; `rows` point at the first of them in the rows above, at and below it.
void ridges_of_four(const std::array<const float*, 3>& rows, float norm, std::array<float, 4>& strength,
                    std::array<cv::Vec2f, 4>& direction) {
  std::array<std::array<std::array<Four, 3>, 3>, 3> around;  // [channel][row][column]
  for (std::size_t r = 0; r < 3; ++r) {
    for (std::size_t c = 0; c < 3; ++c)
      cv::v_load_deinterleave(rows[r] + 3 * c - 3, around[0][r][c], around[1][r][c], around[2][r][c]);
  }
  Four a = cv::v_setzero_f32(), b = a, c = a;
  for (const auto& channel : around) {
    const SecondOfFour h = second_derivatives(channel);
    a += h.xx * h.xx + h.xy * h.xy;
    b += h.xy * (h.xx + h.yy);
    c += h.xy * h.xy + h.yy * h.yy;
  }
  Four across_x, across_y;
  const Four most = cv::v_max(cv::v_setzero_f32(), top_eigen(a, b, c, across_x, across_y));
  cv::v_store(strength.data(), cv::v_setall_f32(norm) * cv::v_sqrt(most));
  cv::v_store_interleave(direction[0].val, cv::v_setall_f32(-1) * across_y, across_x);
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
  constexpr double reach = 2.0;  // standard deviations: 95 % of the weight
  constexpr double apart = 1.9;  // px between steps: just under two
  const double longest = std::max(std::abs(std::cos(angle)), std::abs(std::sin(angle)));
  const int half = std::max(1, static_cast<int>(std::lround(reach * along_px * longest / apart)));
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

// Newer processors take eight pixels at once; the sums are the same either way.
#if defined(__x86_64__) && !defined(__SANITIZE_ADDRESS__)
#define CHALKFOLD_WIDER_WHERE_IT_CAN [[gnu::target_clones("avx2", "default")]]
#else
#define CHALKFOLD_WIDER_WHERE_IT_CAN
#endif

using Eight [[gnu::vector_size(32)]] = float;
using EightNumbers [[gnu::vector_size(32)]] = std::int32_t;
// pixels: of a vector, and averaged together in registers
constexpr std::ptrdiff_t lanes = 8, block = 16;

/// Second derivatives across a direction, of `count` neighbouring pixels.
CHALKFOLD_WIDER_WHERE_IT_CAN
void mix(const float* __restrict xx, const float* __restrict xy, const float* __restrict yy,
         const std::array<float, 3>& weights, int count, float* __restrict out) {
  const float a = weights[0], b = weights[1], c = weights[2];
  for (int x = 0; x < count; ++x) out[x] = a * xx[x] + b * xy[x] + c * yy[x];
}

struct PlacedTap {
  /// from a pixel
  std::ptrdiff_t offset;
  float weight;
};

/// Averages pixels over taps and, where that is the most so far, keeps it in `best` and the direction's number in `which`. Whole blocks, from `count` pixels up.
CHALKFOLD_WIDER_WHERE_IT_CAN
void keep_stronger(const float* across, const std::vector<PlacedTap>& taps, std::int32_t number, int count, float* best,
                   std::int32_t* which) {
  constexpr std::ptrdiff_t parts = block / lanes;
  for (std::ptrdiff_t x = 0; x < count; x += block) {
    Eight sum[parts] = {};
    for (const PlacedTap& tap : taps) {
      for (std::ptrdiff_t k = 0; k < parts; ++k) {
        Eight value;
        std::memcpy(&value, across + x + tap.offset + k * lanes, sizeof value);
        sum[k] += tap.weight * value;
      }
    }
    for (std::ptrdiff_t k = 0; k < parts; ++k) {
      Eight before;
      EightNumbers numbers;
      std::memcpy(&before, best + x + k * lanes, sizeof before);
      std::memcpy(&numbers, which + x + k * lanes, sizeof numbers);
      numbers = sum[k] > before ? EightNumbers{} + number : numbers;
      before = sum[k] > before ? sum[k] : before;
      std::memcpy(which + x + k * lanes, &numbers, sizeof numbers);
      std::memcpy(best + x + k * lanes, &before, sizeof before);
    }
  }
}

/// One of the directions in which second derivatives are averaged along a line.
struct Direction {
  /// of the second derivatives xx, xy, yy that make up the one across the line
  std::array<float, 3> weights;
  std::vector<Tap> taps;
};

std::vector<Direction> all_directions(double sigma_px, double along_px) {
  const double norm = sigma_px * sigma_px;
  std::vector<Direction> out;
  for (int d = 0; d < directions; ++d) {
    const double angle = M_PI * d / directions;  // of the line
    const double nx = -std::sin(angle), ny = std::cos(angle);
    out.push_back({{static_cast<float>(-norm * nx * nx), static_cast<float>(-2 * norm * nx * ny),
                    static_cast<float>(-norm * ny * ny)},
                   taps_along(angle, along_px)});
  }
  return out;
}

std::array<cv::Vec2f, directions> unit_vectors() {
  std::array<cv::Vec2f, directions> along;
  for (int d = 0; d < directions; ++d) {
    const double angle = M_PI * d / directions;
    along[static_cast<std::size_t>(d)] = {static_cast<float>(std::cos(angle)), static_cast<float>(std::sin(angle))};
  }
  return along;
}

/// Some rows of a picture through all directions at once. Band by band the work stays in the cache, where a picture's worth of second derivatives for
/// each of the directions would not.
class RidgeBand {
 public:
  static constexpr int rows = 32;  // a MB or so in all

  RidgeBand(const cv::Mat& smooth, const std::vector<Direction>& all)
      : smooth_(smooth), all_(all), reach_(reach_of(all)), stride_(2 * reach_ + smooth.cols + block) {
    const std::size_t cells = cell(rows + 2 * reach_, 0);
    // With a frame of zeros wherever the picture ends, no tap needs to ask whether it lies in it.
    for (std::vector<float>* framed_rows : {&xx_, &xy_, &yy_, &across_}) framed_rows->assign(cells, 0.0f);
    best_.resize(cell(rows, 0));
    which_.resize(best_.size());
  }

  /// Fills columns [from, to) of `field` in the band that starts at row `top`.
  void run(int top, int from, int to, RidgeField& field) {
    const int count = std::min(rows, smooth_.rows - top);
    take_derivatives(top, from, to);
    std::fill(best_.begin(), best_.end(), 0.0f);
    std::fill(which_.begin(), which_.end(), 0);
    for (int d = 0; d < directions; ++d) {
      const Direction& direction = all_[static_cast<std::size_t>(d)];
      differentiate(direction, from, to);
      for (int y = 0; y < count; ++y) keep_strongest(direction, d, y, from, to);
    }
    for (int y = 0; y < count; ++y) {
      std::copy_n(&best_[cell(y, from)], to - from, field.strength.ptr<float>(top + y) + from);
      auto* out = field.direction.ptr<cv::Vec2f>(top + y);
      for (int x = from; x < to; ++x) out[x] = along_[static_cast<std::size_t>(which_[cell(y, x)])];
    }
  }

 private:
  static int reach_of(const std::vector<Direction>& all) {
    int reach = 0;
    for (const Direction& d : all) {
      for (const Tap& tap : d.taps) reach = std::max({reach, std::abs(tap.dx), std::abs(tap.dy)});
    }
    return reach;
  }

  std::size_t cell(int row, int column) const {
    return static_cast<std::size_t>(row) * static_cast<std::size_t>(stride_) + static_cast<std::size_t>(column);
  }
  /// In the arrays with a frame: of a row counted from the band's first, and a column of the picture.
  std::size_t framed(int row, int column) const { return cell(row + reach_, column + reach_); }

  void take_derivatives(int top, int from, int to) {
    const int x0 = std::max(1, from - reach_), x1 = std::min(smooth_.cols - 1, to + reach_);
    for (int row = -reach_; row < rows + reach_; ++row) {
      const int y = top + row;
      float *xx = &xx_[framed(row, 0)], *xy = &xy_[framed(row, 0)], *yy = &yy_[framed(row, 0)];
      if (y < 1 || y + 1 >= smooth_.rows) {
        for (float* out : {xx, xy, yy}) std::fill_n(out, smooth_.cols, 0.0f);
        continue;
      }
      const float *above = smooth_.ptr<float>(y - 1), *at = smooth_.ptr<float>(y), *below = smooth_.ptr<float>(y + 1);
      for (int x = x0; x < x1; ++x) {
        const Second h = second_derivatives(above + x, at + x, below + x);
        xx[x] = h.xx;
        xy[x] = h.xy;
        yy[x] = h.yy;
      }
    }
  }

  /// Second derivative across the direction.
  void differentiate(const Direction& d, int from, int to) {
    const int x0 = std::max(0, from - reach_), x1 = std::min(smooth_.cols, to + reach_);
    for (int row = -reach_; row < rows + reach_; ++row) {
      const std::size_t at = framed(row, x0);
      mix(&xx_[at], &xy_[at], &yy_[at], d.weights, x1 - x0, &across_[at]);
    }
  }

  /// Averages along the direction and keeps it where it is the strongest so far.
  void keep_strongest(const Direction& d, int number, int row, int from, int to) {
    taps_.clear();
    for (const Tap& tap : d.taps) taps_.push_back({static_cast<std::ptrdiff_t>(tap.dy) * stride_ + tap.dx, tap.weight});
    keep_stronger(&across_[framed(row, from)], taps_, number, to - from, &best_[cell(row, from)],
                  &which_[cell(row, from)]);
  }

  const cv::Mat& smooth_;
  const std::vector<Direction>& all_;
  const std::array<cv::Vec2f, directions> along_ = unit_vectors();
  int reach_, stride_;
  /// with a frame of `reach_` on all sides
  std::vector<float> xx_, xy_, yy_, across_;
  std::vector<float> best_;
  std::vector<std::int32_t> which_;
  std::vector<PlacedTap> taps_;
};

float bilinear(const cv::Mat& m, double x, double y) {
  const int ix = static_cast<int>(x), iy = static_cast<int>(y);
  const auto u = static_cast<float>(x - ix), v = static_cast<float>(y - iy);
  const float *a = m.ptr<float>(iy) + ix, *b = m.ptr<float>(iy + 1) + ix;
  return (1 - v) * ((1 - u) * a[0] + u * a[1]) + v * ((1 - u) * b[0] + u * b[1]);
}

/// Columns [from, to) of rows [top, bottom) that hold all that is wanted of them.
struct Span {
  int from, to;
};

Span wanted_columns(const cv::Mat& wanted, int top, int bottom, int columns) {
  if (wanted.empty()) return {0, columns};
  const cv::Rect box = cv::boundingRect(wanted.rowRange(top, bottom));
  return {box.x, box.x + box.width};
}

}  // namespace

RidgeField colour_ridges(const cv::Mat& picture, double sigma_px, const cv::Mat& wanted) {
  constexpr int four = 4;
  cv::Mat framed(picture.rows, picture.cols + four, CV_32FC3);  // so that the last of a row can be read in fours
  cv::Mat smooth = framed.colRange(0, picture.cols);
  framed.colRange(picture.cols, framed.cols).setTo(cv::Scalar::all(0));
  cv::GaussianBlur(picture, smooth, {}, sigma_px, sigma_px, cv::BORDER_REPLICATE);
  RidgeField field = empty_field(picture.size());
  const auto norm = static_cast<float>(sigma_px * sigma_px);
  std::array<float, four> strength{};
  std::array<cv::Vec2f, four> direction;
  for (int y = 1; y + 1 < picture.rows; ++y) {
    const Span span = wanted_columns(wanted, y, y + 1, picture.cols);
    const int last = std::min(picture.cols - 1, span.to);
    for (int x = std::max(1, span.from); x < last; x += four) {
      const int count = std::min(four, last - x);
      const std::ptrdiff_t channel = 3 * std::ptrdiff_t{x};
      ridges_of_four(
          {smooth.ptr<float>(y - 1) + channel, smooth.ptr<float>(y) + channel, smooth.ptr<float>(y + 1) + channel},
          norm, strength, direction);
      std::copy_n(strength.begin(), count, field.strength.ptr<float>(y) + x);
      std::copy_n(direction.begin(), count, field.direction.ptr<cv::Vec2f>(y) + x);
    }
  }
  return field;
}

RidgeField long_ridges(const cv::Mat& picture, double sigma_px, double along_px, const cv::Mat& wanted) {
  cv::Mat smooth;
  cv::GaussianBlur(picture, smooth, {}, sigma_px, sigma_px, cv::BORDER_REPLICATE);
  RidgeField field = empty_field(picture.size());
  const std::vector<Direction> all = all_directions(sigma_px, along_px);
  RidgeBand band(smooth, all);
  for (int top = 0; top < picture.rows; top += RidgeBand::rows) {
    const Span span = wanted_columns(wanted, top, std::min(picture.rows, top + RidgeBand::rows), picture.cols);
    if (span.from < span.to) band.run(top, span.from, span.to, field);
  }
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

}  // namespace chalkfold::trace
