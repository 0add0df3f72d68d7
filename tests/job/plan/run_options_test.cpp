// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/plan/run_options.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <limits>

#include "pipeline/common/error.h"

namespace chalkfold::job {

namespace {
RunOptions usable() {
  RunOptions options;
  options.photos = {"a.jpg"};
  options.out = "out";
  return options;
}

std::string complaint(const RunOptions& options) {
  try {
    check(options);
  } catch (const UsageError& error) {
    return error.what();
  }
  return "";
}
}  // namespace

TEST(RunOptions, DefaultsAreValid) { EXPECT_EQ(complaint(usable()), ""); }

TEST(RunOptions, NamesOptionValueAndBounds) {
  RunOptions options = usable();
  options.thickness = 80;
  EXPECT_EQ(complaint(options), "--thickness-mm 80: must be from 0 to 50 mm");
  options = usable();
  options.survey.print.long_bar_mm = 24;  // centimetres
  EXPECT_EQ(complaint(options), "--long-bar-mm 24: must be from 204 to 276 mm");
  options = usable();
  options.threads = -1;
  EXPECT_EQ(complaint(options), "--threads -1: must be from 0 to 256");
  options = usable();
  options.trace.min_width = std::numeric_limits<double>::quiet_NaN();
  EXPECT_NE(complaint(options), "");
}

TEST(RunOptions, RefusesTapeThatCannotBe) {
  for (const survey::TapeDistance tape : {survey::TapeDistance{1, 1, 1000, 0.5}, survey::TapeDistance{0, 2, 1000, 0.5},
                                          survey::TapeDistance{1, 21, 1000, 0.5}, survey::TapeDistance{1, 2, 1.0, 0.5},
                                          survey::TapeDistance{1, 2, 1000, 0}}) {
    RunOptions options = usable();
    options.survey.tape = {tape};
    EXPECT_NE(complaint(options), "") << tape.sheet_a << " " << tape.sheet_b << " " << tape.mm << " " << tape.sigma_mm;
  }
}

TEST(RunOptions, RefusesNothingToDo) {
  EXPECT_NE(complaint(RunOptions{}), "");
  RunOptions options = usable();
  options.out.clear();
  EXPECT_NE(complaint(options), "");
}

TEST(EffectiveTrace, AnAssumedThicknessIsLessSure) {
  RunOptions options = usable();
  EXPECT_EQ(effective_trace(options).thickness, 1.2);
  EXPECT_EQ(effective_trace(options).thickness_sigma, 0.8);
  options.thickness = 5;
  EXPECT_EQ(effective_trace(options).thickness, 5);
  EXPECT_EQ(effective_trace(options).thickness_sigma, trace::TraceOptions{}.thickness_sigma);
  EXPECT_LT(effective_trace(options).thickness_sigma, options.assumed_thickness_sigma);
  options.thickness_sigma = 0.37;
  EXPECT_EQ(effective_trace(options).thickness_sigma, 0.37);
}

}  // namespace chalkfold::job
