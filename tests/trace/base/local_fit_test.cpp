// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/base/local_fit.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "tests/survey/synthetic.h"

namespace chalkfold::trace {
namespace {

double parabola(double x) { return 0.4 + 0.05 * (x - 20) - 0.004 * (x - 20) * (x - 20); }

TEST(LocalFit, RecoversAQuadratic) {
  std::vector<LocalSample> samples;
  for (int i = 0; i <= 40; ++i) samples.push_back({1.0 * i, parabola(i)});
  const LocalValue fit = local_fit(samples, 20.3, 8, 0);
  // The touch of ridge on the bend takes up to a few thousandths from a parabola of this bend.
  EXPECT_NEAR(fit.value, parabola(20.3), 0.005);
  EXPECT_NEAR(fit.slope, 0.05 - 0.008 * 0.3, 0.002);
}

TEST(LocalFit, IsNotPulledByOneInFiveOutliers) {
  constexpr double noise = 0.03, outlier = 0.8;  // mm
  // The value of a quadratic under tricube weights over fifteen samples, a fifth of them lost, has half the noise of one
  // sample; three sigmas of that.
  constexpr double bound = 3 * 0.5 * noise;
  survey::Random random(4);
  double worst_off = 0;
  std::vector<double> scatters;
  for (int draw = 0; draw < 100; ++draw) {
    std::vector<LocalSample> samples;
    for (int i = 0; i <= 40; ++i)
      samples.push_back({1.0 * i, parabola(i) + random.normal(noise) + (i % 5 == draw % 5 ? outlier : 0)});
    const LocalValue fit = local_fit(samples, 20, 8, 0);
    worst_off = std::max(worst_off, std::abs(fit.value - parabola(20)));
    scatters.push_back(fit.scatter);
  }
  EXPECT_LT(worst_off, bound);
  std::sort(scatters.begin(), scatters.end());
  EXPECT_GT(scatters[50], 0.6 * noise);  // a median of fifteen after a fit of three
  EXPECT_LT(scatters[50], 1.5 * noise);  // and with a fifth of them far off
}

TEST(LocalFit, WrapsAroundAPeriod) {
  std::vector<LocalSample> samples;
  for (int i = 0; i < 60; ++i) samples.push_back({1.0 * i, std::sin(2 * M_PI * i / 60)});
  EXPECT_NEAR(local_fit(samples, 0, 6, 60).value, 0, 1e-3);
  EXPECT_NEAR(local_fit(samples, 59.5, 6, 60).value, std::sin(-M_PI / 60), 2e-3);
}

TEST(LocalFit, LeavesOutWhatHasNoWeightAndWidensWhereLittleIsLeft) {
  std::vector<LocalSample> samples;
  for (int i = 0; i <= 40; ++i) samples.push_back({1.0 * i, i % 10 == 0 ? 1.0 : 99.0, i % 10 == 0 ? 1.0 : 0.0});
  const LocalValue fit = local_fit(samples, 20, 4, 0);
  EXPECT_NEAR(fit.value, 1, 1e-9);
  EXPECT_NEAR(fit.slope, 0, 1e-9);
}

TEST(LocalFit, FarOutliersDoNotShow) {
  constexpr double outlier_mm = 0.02;  // a fifth of quiet samples thrown far off must not show more
  std::vector<LocalSample> samples;
  for (int i = 0; i <= 40; ++i) samples.push_back({1.0 * i, parabola(i) + (i % 5 == 0 ? 2.5 : 0)});
  for (const double at : {12.0, 20.0, 28.0}) EXPECT_NEAR(local_fit(samples, at, 8, 0).value, parabola(at), outlier_mm);
}

TEST(LocalFit, TooFewSamplesSayNothing) { EXPECT_EQ(local_fit({{0, 1, 1}, {1, 1, 1}}, 0, 5, 0).effective, 0); }

}  // namespace
}  // namespace chalkfold::trace
