// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/trace/eye/feature_map.h"
#include "pipeline/trace/eye/instructions.h"

namespace chalkfold::trace {

struct ConvolutionShape {
  int from_channels = 0;
  int channels = 0;
  int size = 0;
  int stride = 1;
  /// every channel has a filter of its own
  bool depthwise = false;
  /// negative results become 0
  bool relu = false;
};

/// A convolution with its numbers in the order in which they are used.
class Convolution {
 public:
  /// `weights`: channels x (from_channels, or 1 of a depthwise one) x size x size; `biases`: channels. Either depthwise, with 3 or 5 px and multiples of 8
  /// channels, or with patches that lie side by side (stride = size).
  Convolution(const ConvolutionShape& shape, const float* weights, const float* biases);

  const ConvolutionShape& shape() const { return shape_; }
  /// One row of what comes out. `from`: the first px of the input's row y * stride, `row_step` floats from a row to the next, a border of zeros all round
  /// when it is depthwise; `width`: px that come out.
  void row(const float* from, std::ptrdiff_t row_step, int width, float* to, Instructions instructions) const;

  /// Numbers of weights alone.
  static std::size_t weight_count(const ConvolutionShape& shape);

 private:
  ConvolutionShape shape_;
  /// depthwise: [tap][channel]; else [16 output channels at a time][tap][input channel][16], filled up with zeros
  std::vector<float> weights_, biases_;
};

/// Layers that are run together, row by row, so that what lies between them stays near the processor. In this order, each perhaps absent:
struct Pass {
  const FeatureMap& in;
  /// two by two px become channels, out[(dy * 2 + dx) * C + c, y, x] = in[c, 2 y + dy, 2 x + dx], and one more channel is `appended` everywhere
  bool gather = false;
  float appended = 0;
  /// not with `gather`
  const Convolution* depthwise = nullptr;
  /// of size 1 when something stands before it
  const Convolution* dense = nullptr;
  const FeatureMap* addend = nullptr;
};

/// A map of the input's size, halved by `gather` and divided by the strides. At least one convolution.
FeatureMap convolved(const Pass& pass, MapStore& store, Instructions instructions);

/// The sum of a map and one half as large in both directions, whose every px counts twice in both (nearest).
FeatureMap sum_with_doubled(const FeatureMap& fine, const FeatureMap& coarse, MapStore& store);

}  // namespace chalkfold::trace
