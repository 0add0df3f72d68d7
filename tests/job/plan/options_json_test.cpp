// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include "pipeline/job/plan/run_options.h"

namespace chalkfold::job {

TEST(OptionsJson, HoldsTheValuesInForce) {
  RunOptions options;
  options.thickness = 5;
  options.survey.print.long_bar_mm = 239.5;
  options.survey.tape = {{1, 3, 1012, 0.5}};
  const auto json = options_json(options);
  EXPECT_EQ(json["thickness_given"], true);
  EXPECT_EQ(json["trace"]["thickness"], 5.0);
  EXPECT_EQ(json["trace"]["thickness_sigma"], trace::TraceOptions{}.thickness_sigma);
  EXPECT_EQ(json["survey"]["print"]["long_bar"], 239.5);
  EXPECT_TRUE(json["survey"]["print"]["short_bar"].is_null());
  EXPECT_EQ(json["survey"]["tape"][0]["sheets"][1], 3);
}

TEST(OptionsJson, HoldsNothingThatMayDifferBetweenEqualRuns) {
  RunOptions a, b;
  a.photos = {"here/x.jpg"};
  a.out = "a";
  a.threads = 1;
  b.photos = {"there/x.jpg"};
  b.out = "b";
  b.threads = 8;
  b.keep_pixels_mb = 0;
  EXPECT_EQ(options_json(a).dump(), options_json(b).dump());
}

}  // namespace chalkfold::job
