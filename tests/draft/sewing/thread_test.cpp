// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/sewing/thread.h"

#include <gtest/gtest.h>

#include "pipeline/common/error.h"

namespace chalkfold::draft {
namespace {

constexpr double exact = 1e-12;  // rounding of doubles

TEST(Thread, WorkedChecks) {
  EXPECT_NEAR(thread_per_length(4, 3), 3.5, exact);             // mm: 3.5 m of thread per m of seam
  EXPECT_NEAR(thread_per_length(1.0 / 10, 0.025), 2.5, exact);  // inches: 10 stitches per inch, 0.025 in thick
}

TEST(Thread, DoesNotHangOnTheUnit) {
  EXPECT_NEAR(thread_per_length(25.4 / 10, 0.025 * 25.4), thread_per_length(1.0 / 10, 0.025), exact);
}

TEST(Thread, NeedleAndBobbinShareItAndWasteIsAdded) {
  const ThreadNeed need = thread_need(1000, 3, {});
  EXPECT_NEAR(need.needle, need.bobbin, exact);
  EXPECT_NEAR(need.total(), 3500 * 1.15, 1e-9);
  StitchOptions no_waste;
  no_waste.waste = 0;
  EXPECT_NEAR(thread_need(1000, 3, no_waste).total(), 3500, 1e-9);
}

TEST(Thread, AGivenThicknessGoesBeforeThePanels) {
  StitchOptions options;
  options.thickness = 6;
  EXPECT_NEAR(thread_need(1000, 3, options).total(), 5000 * 1.15, 1e-9);
}

TEST(Thread, RefusesOptionsOutOfBounds) {
  StitchOptions options;
  options.stitch = 0;
  EXPECT_THROW(check(options), UsageError);
  options = {};
  options.waste = -0.1;
  EXPECT_THROW(check(options), UsageError);
}

}  // namespace
}  // namespace chalkfold::draft
