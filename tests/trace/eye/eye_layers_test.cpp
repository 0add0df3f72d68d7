// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/eye/eye_layers.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cstring>
#include <opencv2/core.hpp>
#include <vector>

#include "pipeline/common/require.h"

namespace chalkfold::trace {
namespace {

std::vector<float> numbers(std::size_t count, int seed) {
  cv::RNG random(static_cast<std::uint64_t>(seed));
  std::vector<float> out(count);
  for (float& v : out) v = random.uniform(-1.0F, 1.0F);
  return out;
}

FeatureMap random_map(int height, int width, int channels, int seed) {
  FeatureMap out(height, width, channels);
  for (int y = 0; y < height; ++y) {
    const auto row = numbers(static_cast<std::size_t>(width * channels), 100 * seed + y + 1);
    std::copy(row.begin(), row.end(), out.row(y));
  }
  return out;
}

/// 0 outside the map.
double at(const FeatureMap& map, int x, int y, int c) {
  const bool inside = x >= 0 && y >= 0 && x < map.width() && y < map.height();
  return inside ? map.row(y)[x * map.channels() + c] : 0;
}

/// A convolution as its definition has it, in double (demo/train/network.py: zeros all round, (size - stride + 1) / 2 of them).
double by_definition(const FeatureMap& in, const ConvolutionShape& s, const std::vector<float>& weights,
                     const std::vector<float>& biases, int x, int y, int c) {
  const int before = (s.size - s.stride + 1) / 2, from = s.depthwise ? 1 : s.from_channels;
  double sum = biases[static_cast<std::size_t>(c)];
  for (int i = 0; i < from; ++i)
    for (int dy = 0; dy < s.size; ++dy)
      for (int dx = 0; dx < s.size; ++dx)
        sum += static_cast<double>(weights[static_cast<std::size_t>(((c * from + i) * s.size + dy) * s.size + dx)]) *
               at(in, x * s.stride + dx - before, y * s.stride + dy - before, s.depthwise ? c : i);
  return s.relu ? std::max(sum, 0.0) : sum;
}

constexpr double float_rounding = 2e-5;  // of some hundred products of numbers up to 1

std::vector<Instructions> all_instructions() {
  if (best_instructions() == Instructions::plain) return {Instructions::plain};
  return {Instructions::plain, Instructions::avx2};
}

void expect_same_bytes(const FeatureMap& a, const FeatureMap& b) {
  for (int y = 0; y < a.height(); ++y)
    ASSERT_EQ(std::memcmp(a.row(y), b.row(y), static_cast<std::size_t>(a.width() * a.channels()) * sizeof(float)), 0)
        << "row " << y;
}

TEST(EyeLayers, EveryConvolutionIsItsDefinition) {
  // Widths and channels that are no multiples of what is worked on at a time; every kind that the network uses.
  const std::vector<ConvolutionShape> shapes{{25, 16, 1, 1, false, true}, {16, 6, 1, 1, false, false},
                                             {6, 40, 2, 2, false, true},  {16, 16, 3, 1, true, false},
                                             {8, 8, 3, 2, true, true},    {24, 24, 5, 1, true, false}};
  for (const ConvolutionShape& s : shapes) {
    const auto weights = numbers(Convolution::weight_count(s), 5),
               biases = numbers(static_cast<std::size_t>(s.channels), 6);
    const Convolution convolution(s, weights.data(), biases.data());
    const FeatureMap in = random_map(10, 38, s.from_channels, 7);
    MapStore store;
    std::vector<FeatureMap> out;
    for (const Instructions with : all_instructions()) {
      out.push_back(s.depthwise ? convolved({.in = in, .depthwise = &convolution}, store, with)
                                : convolved({.in = in, .dense = &convolution}, store, with));
      ASSERT_EQ(out.back().height(), 10 / s.stride);
      ASSERT_EQ(out.back().width(), 38 / s.stride);
      for (int y = 0; y < out.back().height(); ++y)
        for (int x = 0; x < out.back().width(); ++x)
          for (int c = 0; c < s.channels; ++c)
            ASSERT_NEAR(at(out.back(), x, y, c), by_definition(in, s, weights, biases, x, y, c), float_rounding)
                << s.size << " px, channel " << c << " at " << x << ' ' << y;
    }
    expect_same_bytes(out.front(), out.back());
  }
}

TEST(EyeLayers, LayersRunTogetherAreThoseRunOneByOne) {
  const ConvolutionShape filter{16, 16, 3, 1, true, false}, mix{16, 16, 1, 1, false, true};
  const auto weights = numbers(1000, 1), biases = numbers(16, 2);
  const Convolution depthwise(filter, weights.data(), biases.data()), dense(mix, weights.data() + 200, biases.data());
  const FeatureMap in = random_map(6, 20, 16, 3);
  for (const Instructions with : all_instructions()) {
    MapStore store;
    const FeatureMap together =
        convolved({.in = in, .depthwise = &depthwise, .dense = &dense, .addend = &in}, store, with);
    const FeatureMap between = convolved({.in = in, .depthwise = &depthwise}, store, with);
    const FeatureMap alone = convolved({.in = between, .dense = &dense}, store, with);
    for (int y = 0; y < 6; ++y)
      for (int i = 0; i < 20 * 16; ++i) ASSERT_EQ(together.row(y)[i], alone.row(y)[i] + in.row(y)[i]);
  }
}

TEST(EyeLayers, GatheredPxStandInTheOrderOfTraining) {
  // Each output channel takes one of the 9 gathered ones: (dy * 2 + dx) * C + c, then the appended one.
  const ConvolutionShape shape{9, 9, 1, 1, false, false};
  std::vector<float> weights(81), biases(9);
  for (std::size_t c = 0; c < 9; ++c) weights[10 * c] = 1;
  const Convolution copy(shape, weights.data(), biases.data());
  const FeatureMap in = random_map(4, 6, 2, 4);
  MapStore store;
  const FeatureMap out =
      convolved({.in = in, .gather = true, .appended = 0.25F, .dense = &copy}, store, best_instructions());
  ASSERT_EQ(out.height(), 2);
  ASSERT_EQ(out.width(), 3);
  for (int y = 0; y < 2; ++y) {
    for (int x = 0; x < 3; ++x) {
      for (int dy = 0; dy < 2; ++dy)
        for (int dx = 0; dx < 2; ++dx)
          for (int c = 0; c < 2; ++c)
            EXPECT_EQ(at(out, x, y, (dy * 2 + dx) * 2 + c), at(in, 2 * x + dx, 2 * y + dy, c));
      EXPECT_EQ(at(out, x, y, 8), 0.25);
    }
  }
}

TEST(EyeLayers, DoubledMapsAreAddedPxByPx) {
  const FeatureMap fine = random_map(6, 8, 5, 1), coarse = random_map(3, 4, 5, 2);
  MapStore store;
  const FeatureMap out = sum_with_doubled(fine, coarse, store);
  for (int y = 0; y < 6; ++y)
    for (int x = 0; x < 8; ++x)
      for (int c = 0; c < 5; ++c)
        EXPECT_EQ(out.row(y)[x * 5 + c], fine.row(y)[x * 5 + c] + coarse.row(y / 2)[x / 2 * 5 + c]);
}

TEST(EyeLayers, MemoryUsedAgainHasItsBorderOfZeros) {
  MapStore store;
  store.give_back(random_map(20, 20, 8, 1));
  const FeatureMap map = store.map(4, 5, 3);
  EXPECT_GE(map.capacity(), FeatureMap::floats(20, 20, 8));
  for (const int y : {-2, -1, 4, 5})
    for (int i = -2 * 3; i < (5 + 2) * 3; ++i) EXPECT_EQ(map.row(y)[i], 0);
  for (int y = 0; y < 4; ++y)
    for (int i = 0; i < 2 * 3; ++i) EXPECT_EQ(map.row(y)[-1 - i] + map.row(y)[5 * 3 + i], 0);
}

TEST(EyeLayers, RefusesWhatIsNoConvolutionOfTheNetwork) {
  const std::vector<float> room(4000);
  const auto made = [&](const ConvolutionShape& s) { return Convolution(s, room.data(), room.data()); };
  EXPECT_THROW(made({8, 8, 7, 1, true, false}), PreconditionError);
  EXPECT_THROW(made({12, 12, 3, 1, true, false}), PreconditionError);
  EXPECT_THROW(made({8, 16, 3, 1, true, false}), PreconditionError);
  EXPECT_THROW(made({8, 8, 3, 1, false, false}), PreconditionError);
  EXPECT_THROW(made({8, 8, 1, 3, false, false}), PreconditionError);
  const Convolution dense = made({8, 8, 1, 1, false, false}), halving = made({8, 8, 2, 2, false, false});
  const FeatureMap eight(4, 5, 8), six(4, 4, 6);
  MapStore store;
  EXPECT_THROW(convolved({.in = eight}, store, Instructions::plain), PreconditionError);
  EXPECT_THROW(convolved({.in = six, .dense = &dense}, store, Instructions::plain), PreconditionError);
  EXPECT_THROW(convolved({.in = eight, .dense = &halving}, store, Instructions::plain), PreconditionError);
  EXPECT_THROW(convolved({.in = eight, .dense = &dense, .addend = &six}, store, Instructions::plain),
               PreconditionError);
  EXPECT_THROW(sum_with_doubled(eight, eight, store), PreconditionError);
}

}  // namespace
}  // namespace chalkfold::trace
