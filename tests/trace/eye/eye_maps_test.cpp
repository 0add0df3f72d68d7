// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/eye/eye_maps.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>

#include "pipeline/common/require.h"

namespace chalkfold::trace {
namespace {

constexpr int maps = 6;

/// The same six logits at every px.
FeatureMap even(int height, int width, const std::array<float, maps>& logits) {
  FeatureMap out(height, width, maps);
  for (int y = 0; y < height; ++y)
    for (int x = 0; x < width; ++x) std::copy(logits.begin(), logits.end(), out.row(y) + std::ptrdiff_t{x} * maps);
  return out;
}

TEST(EyeMaps, AreSoftmaxAndSigmoid) {
  // Steps of 0.37 over all that a float's e^x can hold; expected by the library's std::exp in double.
  constexpr double series = 2e-6;  // relative, of e^x by its series in floats
  for (float v = -85; v < 85; v += 0.37F) {
    const EyeMaps out = probabilities(even(2, 2, {v, 1, 0.5F, -2, v, -v}), {4, 4});
    const double most = std::max(v, 1.0F);
    const double whole = std::exp(v - most) + std::exp(1 - most) + std::exp(0.5 - most) + std::exp(-2 - most);
    EXPECT_NEAR(out.table.at<float>(1, 1), std::exp(v - most) / whole, series) << v;
    EXPECT_NEAR(out.panel.at<float>(1, 1), std::exp(1 - most) / whole, series) << v;
    EXPECT_NEAR(out.paper.at<float>(1, 1), std::exp(0.5 - most) / whole, series) << v;
    EXPECT_NEAR(out.thing.at<float>(1, 1), std::exp(-2 - most) / whole, series) << v;
    EXPECT_NEAR(out.edge.at<float>(1, 1) * (1 + std::exp(-static_cast<double>(v))), 1, series) << v;
    EXPECT_NEAR(out.shadow.at<float>(1, 1) * (1 + std::exp(static_cast<double>(v))), 1, series) << v;
  }
}

TEST(EyeMaps, LogitsBeyondWhatAFloatHoldsAreSureNotBroken) {
  const EyeMaps out = probabilities(even(2, 2, {-3000, 3000, 0, 0, 500, -500}), {4, 4});
  EXPECT_FLOAT_EQ(out.panel.at<float>(0, 0), 1);
  EXPECT_LT(out.table.at<float>(0, 0), 1e-30);
  EXPECT_FLOAT_EQ(out.edge.at<float>(0, 0), 1);
  EXPECT_LT(out.shadow.at<float>(0, 0), 1e-30);
  EXPECT_GE(out.shadow.at<float>(0, 0), 0);
}

TEST(EyeMaps, DoublingKeepsAPlaneInItsPlace) {
  // Closed form: bilinear reading of a plane is the plane. The centre of px X of the doubled map lies at (X - 0.5) / 2 of the half map.
  FeatureMap half(8, 12, maps);
  const auto plane = [](double x, double y) { return 0.1 * x - 0.23 * y + 0.4; };
  for (int y = 0; y < 8; ++y)
    for (int x = 0; x < 12; ++x)
      for (int c = 0; c < maps; ++c) half.row(y)[x * maps + c] = c == 4 ? static_cast<float>(plane(x, y)) : 0.0F;
  const EyeMaps out = probabilities(half, {24, 16});
  const auto logit = [&](int x, int y) {
    return std::log(out.edge.at<float>(y, x) / (1.0 - out.edge.at<float>(y, x)));
  };
  constexpr double float_rounding = 1e-5;
  for (int y = 1; y < 15; ++y)
    for (int x = 1; x < 23; ++x)
      EXPECT_NEAR(logit(x, y), plane((x - 0.5) / 2, (y - 0.5) / 2), float_rounding) << x << ' ' << y;
  // Beyond the rim, the rim.
  EXPECT_NEAR(logit(0, 0), plane(0, 0), float_rounding);
  EXPECT_NEAR(logit(23, 15), plane(11, 7), float_rounding);
}

TEST(EyeMaps, SameBytesOnEveryProcessor) {
  if (best_instructions() == Instructions::plain) GTEST_SKIP() << "this processor has no AVX2 to compare with";
  FeatureMap half(32, 32, maps);
  cv::RNG random(3);
  for (int y = 0; y < 32; ++y)
    for (int i = 0; i < 32 * maps; ++i) half.row(y)[i] = random.uniform(-9.0F, 9.0F);
  const EyeMaps a = probabilities(half, {61, 64}, Instructions::plain),
                b = probabilities(half, {61, 64}, Instructions::avx2);
  ASSERT_TRUE(a.panel.isContinuous() && b.panel.isContinuous());
  EXPECT_EQ(std::memcmp(a.panel.data, b.panel.data, a.panel.total() * sizeof(float)), 0);
  EXPECT_EQ(std::memcmp(a.shadow.data, b.shadow.data, a.shadow.total() * sizeof(float)), 0);
}

TEST(EyeMaps, RefusesASizeThatTheMapsDoNotCover) {
  EXPECT_THROW(probabilities(even(2, 2, {}), {5, 4}), PreconditionError);
  EXPECT_THROW(probabilities(even(2, 2, {}), {4, 0}), PreconditionError);
  EXPECT_THROW(probabilities(FeatureMap(2, 2, 5), {4, 4}), PreconditionError);
}

}  // namespace
}  // namespace chalkfold::trace
