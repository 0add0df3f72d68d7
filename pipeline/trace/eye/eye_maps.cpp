// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/eye/eye_maps.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cstring>
#include <opencv2/core/utility.hpp>
#include <vector>

#include "pipeline/common/require.h"
#include "pipeline/trace/eye/lanes.h"

namespace chalkfold::trace {
namespace {

constexpr int outputs = 6, kinds = 4;  // the kinds share one softmax

/// A row of the doubled maps, channel by channel; as long as vectors need it to be.
struct DoubledRow {
  explicit DoubledRow(int half_width) {
    constexpr std::size_t most_lanes = sizeof(Eight) / sizeof(float);
    const auto half = static_cast<std::size_t>(half_width);
    for (auto& channel : channels) channel.resize((2 * half + most_lanes - 1) / most_lanes * most_lanes);
    between.resize(half + 2);
  }
  std::array<std::vector<float>, outputs> channels;
  /// one channel, blended between two rows, a px of the rim more on either side
  std::vector<float> between;
};

/// e^x to 1e-6 of itself, of -87 to 87: 2^n by the exponent's bits, and the rest, at most ln 2 / 2, by the series to its sixth power.
template <class V>
[[gnu::always_inline]] inline void exponential(V& x) {
  using Bits = decltype(x > x);
  constexpr float per_octave = 1.44269504F;                   // 1 / ln 2
  constexpr float high = 0.693145752F, low = 1.42860677e-6F;  // ln 2 in two parts: n * high is exact
  constexpr float to_whole = 12582912.0F;                     // 1.5 * 2^23: the last bit of a sum with it is worth 1
  constexpr float bound = 87;
  x = x < -bound ? V{} - bound : x;
  x = x > bound ? V{} + bound : x;
  const V shifted = x * per_octave + to_whole;
  const V n = shifted - to_whole;
  const V r = x - n * high - n * low;
  V series = r * (1.0F / 720) + 1.0F / 120;
  for (const float term : {1.0F / 24, 1.0F / 6, 1.0F / 2, 1.0F, 1.0F}) series = series * r + term;
  Bits bits;
  std::memcpy(&bits, &shifted, sizeof bits);
  bits = (bits - std::bit_cast<int>(to_whole) + 127) << 23;
  V power;
  std::memcpy(&power, &bits, sizeof power);
  x = series * power;
}

/// Row y of the doubled maps.
void double_row(const FeatureMap& half, int y, DoubledRow& out) {
  constexpr float near = 0.75F, far = 0.25F;  // a doubled px lies a quarter of a px from an old one
  const int width = half.width(), other_y = std::clamp(y / 2 + (y % 2 == 0 ? -1 : 1), 0, half.height() - 1);
  float* between = out.between.data() + 1;
  for (int c = 0; c < outputs; ++c) {
    const float *one = half.row(y / 2) + c, *other = half.row(other_y) + c;
    for (std::ptrdiff_t x = 0; x < width; ++x) between[x] = near * one[x * outputs] + far * other[x * outputs];
    between[-1] = between[0];
    between[width] = between[width - 1];
    float* to = out.channels[static_cast<std::size_t>(c)].data();
    for (std::ptrdiff_t x = 0; x < width; ++x) {
      to[2 * x] = near * between[x] + far * between[x - 1];
      to[2 * x + 1] = near * between[x] + far * between[x + 1];
    }
  }
}

/// Logits become probabilities.
template <class V>
[[gnu::always_inline]] inline void settle(DoubledRow& row) {
  constexpr std::size_t lanes = sizeof(V) / sizeof(float);
  for (std::size_t x = 0; x < row.channels[0].size(); x += lanes) {
    V v[outputs];
    for (std::size_t c = 0; c < outputs; ++c) load(v[c], &row.channels[c][x]);
    V most = v[0];
    for (std::size_t c = 1; c < kinds; ++c) most = v[c] > most ? v[c] : most;
    V whole{};
    for (std::size_t c = 0; c < kinds; ++c) {
      v[c] -= most;
      exponential(v[c]);
      whole += v[c];
    }
    for (std::size_t c = 0; c < kinds; ++c) v[c] /= whole;
    for (std::size_t c = kinds; c < outputs; ++c) {
      v[c] = -v[c];
      exponential(v[c]);
      v[c] = 1.0F / (1.0F + v[c]);
    }
    for (std::size_t c = 0; c < outputs; ++c) store(&row.channels[c][x], v[c]);
  }
}

void plain_settle(DoubledRow& row) { settle<Four>(row); }
CHALKFOLD_AVX2 void avx2_settle(DoubledRow& row) { settle<Eight>(row); }

}  // namespace

EyeMaps probabilities(const FeatureMap& half, const cv::Size& size, Instructions instructions) {
  require_equal("channels", half.channels(), outputs);
  require_within("height", size.height, 1, 2 * half.height());
  require_within("width", size.width, 1, 2 * half.width());
  EyeMaps out;
  const std::array<cv::Mat*, outputs> maps{&out.table, &out.panel, &out.paper, &out.thing, &out.edge, &out.shadow};
  for (cv::Mat* map : maps) map->create(size, CV_32F);
  const auto settled = instructions == Instructions::avx2 ? avx2_settle : plain_settle;
  cv::parallel_for_({0, size.height}, [&](const cv::Range& range) {
    DoubledRow row(half.width());
    for (int y = range.start; y < range.end; ++y) {
      double_row(half, y, row);
      settled(row);
      for (std::size_t c = 0; c < outputs; ++c) std::copy_n(row.channels[c].data(), size.width, maps[c]->ptr<float>(y));
    }
  });
  return out;
}

}  // namespace chalkfold::trace
