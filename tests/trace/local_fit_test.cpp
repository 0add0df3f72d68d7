// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/local_fit.h"

#include <gtest/gtest.h>

#include <cmath>

namespace chalkfold {
namespace {

constexpr double exact_mm = 2e-3;    // the ridge on the bend and the bisquare's shoulder
constexpr double outlier_mm = 0.02;  // a fifth of the samples thrown far off must not show more

std::vector<LocalSample> parabola(double step, int count) {
  std::vector<LocalSample> samples;
  for (int i = 0; i < count; ++i) samples.push_back({i * step, 0.3 + 0.02 * i * step - 0.003 * i * step * i * step, 1});
  return samples;
}

TEST(LocalFit, RecoversAParabola) {
  const auto samples = parabola(1, 41);
  for (double at : {8.0, 20.0, 31.5}) {
    const LocalValue v = local_fit(samples, at, 8, 0);
    EXPECT_NEAR(v.value, 0.3 + 0.02 * at - 0.003 * at * at, exact_mm);
    EXPECT_NEAR(v.slope, 0.02 - 0.006 * at, exact_mm);
  }
}

TEST(LocalFit, FarOutliersDoNotShow) {
  auto samples = parabola(1, 41);
  for (std::size_t i = 0; i < samples.size(); i += 5) samples[i].value += 2.5;
  for (double at : {12.0, 20.0, 28.0}) EXPECT_NEAR(local_fit(samples, at, 8, 0).value, 0.3 + 0.02 * at - 0.003 * at * at, outlier_mm);
}

TEST(LocalFit, AClosedLineHasNoEnds) {
  constexpr double period = 60, two_pi = 6.283185307179586;
  std::vector<LocalSample> samples;
  for (int i = 0; i < 60; ++i) samples.push_back({static_cast<double>(i), std::sin(two_pi * i / period), 1});
  // A quadratic over +-6 mm leaves about 6^4 / 24 of the fourth derivative of a wave of 60 mm: under 0.01.
  for (double at : {0.0, 0.5, 59.5}) EXPECT_NEAR(local_fit(samples, at, 6, period).value, std::sin(two_pi * at / period), 0.01);
}

TEST(LocalFit, LeavesOutSamplesOfNoWeight) {
  auto samples = parabola(1, 41);
  samples[20].value = 1e6;
  samples[20].weight = 0;
  EXPECT_NEAR(local_fit(samples, 20, 8, 0).value, 0.3 + 0.4 - 1.2, exact_mm);
}

TEST(LocalFit, TooFewSamplesSayNothing) { EXPECT_EQ(local_fit({{0, 1, 1}, {1, 1, 1}}, 0, 5, 0).effective, 0); }

}  // namespace
}  // namespace chalkfold
