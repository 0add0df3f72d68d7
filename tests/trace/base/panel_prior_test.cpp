// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/base/panel_prior.h"

#include <gtest/gtest.h>

namespace chalkfold::trace {
namespace {

TEST(PanelPrior, IsBilinearInTableMillimetresAndNothingOutside) {
  PanelPrior prior;
  EXPECT_EQ(prior.at({0, 0}), 0) << "nothing is known";
  prior.raster.mm_per_px = 2;
  prior.raster.top_left = {10, 50};
  prior.raster.size = {3, 2};
  prior.log_odds = (cv::Mat_<float>(2, 3) << 0, 1, 2, 4, 5, 6);
  EXPECT_FLOAT_EQ(prior.at({12, 50}), 1) << "x right";
  EXPECT_FLOAT_EQ(prior.at({11, 49}), 2.5F) << "row 0 is the largest y";
  EXPECT_EQ(prior.at({9, 50}), 0);
  EXPECT_EQ(prior.at({12, 47}), 0);
}

}  // namespace
}  // namespace chalkfold::trace
