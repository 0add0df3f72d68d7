// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/eye/eye_layers.h"

#include <algorithm>
#include <opencv2/core/utility.hpp>

#include "pipeline/common/require.h"
#include "pipeline/trace/eye/lanes.h"

namespace chalkfold::trace {
namespace {

/// Output channels that are summed up at a time.
constexpr int block = 16;

template <class V>
[[gnu::always_inline]] inline void clip(V& v) {
  v = v > 0 ? v : V{};
}

/// One row of a convolution.
struct RowTask {
  const ConvolutionShape& shape;
  const float *weights, *biases, *from;
  std::ptrdiff_t row_step;
  float* to;
  int width;
};

/// `Pixels` neighbouring px of 16 output channels. `from`: the first px's patch, in the first of its rows.
template <class V, int Pixels>
[[gnu::always_inline]] inline void patches(const RowTask& t, const float* from, const float* weights,
                                           const float* biases, float* to, int channels_left) {
  constexpr int parts = block * sizeof(float) / sizeof(V);
  constexpr std::ptrdiff_t lanes = block / parts;
  const std::ptrdiff_t patch = std::ptrdiff_t{t.shape.stride} * t.shape.from_channels;
  V acc[Pixels][parts];
#pragma GCC unroll 8
  for (int p = 0; p < Pixels; ++p) {
#pragma GCC unroll 4
    for (int k = 0; k < parts; ++k) load(acc[p][k], biases + k * lanes);
  }
  for (int dy = 0; dy < t.shape.size; ++dy, from += t.row_step) {
    for (std::ptrdiff_t j = 0; j < patch; ++j, weights += block) {
      V w[parts];
#pragma GCC unroll 4
      for (int k = 0; k < parts; ++k) load(w[k], weights + k * lanes);
#pragma GCC unroll 8
      for (int p = 0; p < Pixels; ++p) {
#pragma GCC unroll 4
        for (int k = 0; k < parts; ++k) acc[p][k] += from[p * patch + j] * w[k];
      }
    }
  }
#pragma GCC unroll 8
  for (int p = 0; p < Pixels; ++p, to += t.shape.channels) {
#pragma GCC unroll 4
    for (int k = 0; k < parts; ++k) {
      if (t.shape.relu) clip(acc[p][k]);
      if (channels_left >= block)
        store(to + k * lanes, acc[p][k]);
      else if (channels_left > k * lanes)
        std::memcpy(
            to + k * lanes, &acc[p][k],
            static_cast<std::size_t>(std::min<std::ptrdiff_t>(lanes, channels_left - k * lanes)) * sizeof(float));
    }
  }
}

/// `Pixels`: as many as the registers hold.
template <class V, int Pixels>
[[gnu::always_inline]] inline void patch_row(const RowTask& t) {
  const ConvolutionShape& s = t.shape;
  const std::ptrdiff_t patch = std::ptrdiff_t{s.stride} * s.from_channels;
  const float* weights = t.weights;
  for (int c = 0; c < s.channels; c += block, weights += patch * s.size * block) {
    float* to = t.to + c;
    int x = 0;
    for (; x + Pixels <= t.width; x += Pixels)
      patches<V, Pixels>(t, t.from + x * patch, weights, t.biases + c, to + std::ptrdiff_t{x} * s.channels,
                         s.channels - c);
    for (; x < t.width; ++x)
      patches<V, 1>(t, t.from + x * patch, weights, t.biases + c, to + std::ptrdiff_t{x} * s.channels, s.channels - c);
  }
}

/// A filter of its own for each channel. A stretch of px at a time, so that its rows stay in the first cache while the channels go by.
template <class V, int Size>
[[gnu::always_inline]] inline void depthwise_row(const RowTask& t) {
  constexpr int lanes = sizeof(V) / sizeof(float), stretch = 16;
  const std::ptrdiff_t channels = t.shape.channels, step = t.shape.stride * channels;
  const int before = (Size - t.shape.stride + 1) / 2;
  for (int start = 0; start < t.width; start += stretch) {
    const int count = std::min(stretch, t.width - start);
    for (std::ptrdiff_t c = 0; c < channels; c += lanes) {
      const float* rows[Size];
      for (int dy = 0; dy < Size; ++dy)
        rows[dy] = t.from + (dy - before) * t.row_step - before * channels + start * step + c;
      float* to = t.to + start * channels + c;
      V w[Size * Size], bias;
      for (int tap = 0; tap < Size * Size; ++tap) load(w[tap], t.weights + tap * channels + c);
      load(bias, t.biases + c);
      for (int x = 0; x < count; ++x, to += channels) {
        V acc = bias;
#pragma GCC unroll 5
        for (int dy = 0; dy < Size; ++dy) {
#pragma GCC unroll 5
          for (int dx = 0; dx < Size; ++dx) {
            V v;
            load(v, rows[dy] + dx * channels);
            acc += v * w[dy * Size + dx];
          }
          rows[dy] += step;
        }
        if (t.shape.relu) clip(acc);
        store(to, acc);
      }
    }
  }
}

template <class V, int Pixels>
[[gnu::always_inline]] inline void any_row(const RowTask& t) {
  if (!t.shape.depthwise)
    patch_row<V, Pixels>(t);
  else if (t.shape.size == 3)
    depthwise_row<V, 3>(t);
  else
    depthwise_row<V, 5>(t);
}

void plain_row(const RowTask& t) { any_row<Four, 3>(t); }

CHALKFOLD_AVX2 void avx2_row(const RowTask& t) { any_row<Eight, 6>(t); }

void gather_row(const FeatureMap& in, int y, float appended, int width, float* to) {
  const int pair = 2 * in.channels();
  const float *upper = in.row(2 * y), *lower = in.row(2 * y + 1);
  for (int x = 0; x < width; ++x, upper += pair, lower += pair) {
    to = std::copy_n(lower, pair, std::copy_n(upper, pair, to));
    *to++ = appended;
  }
}

int filled_up(int channels) { return (channels + block - 1) / block * block; }

void check(const ConvolutionShape& s) {
  require_at_least("channels", s.channels, 1);
  require_at_least("from_channels", s.from_channels, 1);
  require_within("stride", s.stride, 1, 2);
  if (s.depthwise) {
    require(s.size == 3 || s.size == 5, "a depthwise filter is neither 3 nor 5 px wide");
    require_equal("channels", s.channels, s.from_channels);
    require(s.channels % 8 == 0, "the channels of a depthwise filter are no multiple of 8");
  } else {
    require_equal("size", s.size, s.stride);
  }
}

}  // namespace

std::size_t Convolution::weight_count(const ConvolutionShape& s) {
  return static_cast<std::size_t>(s.channels) * static_cast<std::size_t>(s.depthwise ? 1 : s.from_channels) *
         static_cast<std::size_t>(s.size) * static_cast<std::size_t>(s.size);
}

Convolution::Convolution(const ConvolutionShape& shape, const float* weights, const float* biases) : shape_(shape) {
  check(shape);
  const auto channels = static_cast<std::size_t>(shape.channels),
             from = static_cast<std::size_t>(shape.depthwise ? 1 : shape.from_channels),
             taps = static_cast<std::size_t>(shape.size) * static_cast<std::size_t>(shape.size),
             room = shape.depthwise ? channels : static_cast<std::size_t>(filled_up(shape.channels));
  biases_.assign(biases, biases + channels);
  biases_.resize(room);
  weights_.resize(room * from * taps);
  for (std::size_t c = 0; c < channels; ++c) {
    for (std::size_t i = 0; i < from; ++i) {
      for (std::size_t tap = 0; tap < taps; ++tap) {
        const std::size_t place =
            shape.depthwise ? tap * channels + c : ((c / block * taps + tap) * from + i) * block + c % block;
        weights_[place] = weights[(c * from + i) * taps + tap];
      }
    }
  }
}

void Convolution::row(const float* from, std::ptrdiff_t row_step, int width, float* to,
                      Instructions instructions) const {
  const RowTask task{shape_, weights_.data(), biases_.data(), from, row_step, to, width};
  if (instructions == Instructions::avx2)
    avx2_row(task);
  else
    plain_row(task);
}

namespace {

/// Channels that the last of a pass's layers before the dense one gives, the map's own if there is none.
int channels_before_dense(const Pass& pass) { return pass.gather ? 4 * pass.in.channels() + 1 : pass.in.channels(); }

void check(const Pass& pass) {
  require(pass.depthwise || pass.dense, "there is no convolution");
  require(!pass.gather || !pass.depthwise, "a depthwise convolution of gathered px");
  const int channels = channels_before_dense(pass);
  if (pass.depthwise) {
    require(pass.depthwise->shape().depthwise, "the first convolution is not depthwise");
    require_equal("channels of the depthwise convolution", pass.depthwise->shape().from_channels, channels);
  }
  if (pass.dense) {
    require(!pass.dense->shape().depthwise, "the last convolution is depthwise");
    require_equal("channels of the dense convolution", pass.dense->shape().from_channels, channels);
    if (pass.gather || pass.depthwise) require_equal("size of the dense convolution", pass.dense->shape().size, 1);
  }
}

}  // namespace

FeatureMap convolved(const Pass& pass, MapStore& store, Instructions instructions) {
  check(pass);
  const FeatureMap& in = pass.in;
  const Convolution& last = pass.dense ? *pass.dense : *pass.depthwise;
  const int stride = pass.gather ? 2 : (pass.depthwise ? pass.depthwise : pass.dense)->shape().stride;
  require(in.height() % stride == 0 && in.width() % stride == 0, "the map's size is odd");
  FeatureMap out = store.map(in.height() / stride, in.width() / stride, last.shape().channels);
  if (pass.addend) {
    require_equal("height of the addend", pass.addend->height(), out.height());
    require_equal("width of the addend", pass.addend->width(), out.width());
    require_equal("channels of the addend", pass.addend->channels(), out.channels());
  }
  const int width = out.width();
  const bool two = pass.dense && (pass.gather || pass.depthwise);
  cv::parallel_for_({0, out.height()}, [&](const cv::Range& range) {
    std::vector<float> between(
        two ? static_cast<std::size_t>(width) * static_cast<std::size_t>(channels_before_dense(pass)) : 0);
    for (int y = range.start; y < range.end; ++y) {
      float* to = out.row(y);
      if (pass.gather)
        gather_row(in, y, pass.appended, width, between.data());
      else if (pass.depthwise)
        pass.depthwise->row(in.row(y * stride), in.row_step(), width, two ? between.data() : to, instructions);
      if (two)
        last.row(between.data(), 0, width, to, instructions);
      else if (pass.dense)
        last.row(in.row(y * stride), in.row_step(), width, to, instructions);
      if (!pass.addend) continue;
      const float* more = pass.addend->row(y);
      for (int i = 0; i < width * out.channels(); ++i) to[i] += more[i];
    }
  });
  return out;
}

FeatureMap sum_with_doubled(const FeatureMap& fine, const FeatureMap& coarse, MapStore& store) {
  const int channels = fine.channels();
  require_equal("height of the coarse map", 2 * coarse.height(), fine.height());
  require_equal("width of the coarse map", 2 * coarse.width(), fine.width());
  require_equal("channels of the coarse map", coarse.channels(), channels);
  FeatureMap out = store.map(fine.height(), fine.width(), channels);
  cv::parallel_for_({0, out.height()}, [&](const cv::Range& range) {
    for (int y = range.start; y < range.end; ++y) {
      const float *one = fine.row(y), *other = coarse.row(y / 2);
      float* to = out.row(y);
      for (int x = 0; x < fine.width(); ++x, one += channels, to += channels, other += x % 2 == 0 ? channels : 0)
        for (int c = 0; c < channels; ++c) to[c] = one[c] + other[c];
    }
  });
  return out;
}

}  // namespace chalkfold::trace
