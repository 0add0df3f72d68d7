// SPDX-License-Identifier: Apache-2.0
#include "pipeline/common/check_option.h"

#include <gtest/gtest.h>

#include <limits>

#include "pipeline/common/error.h"

namespace chalkfold {
namespace {

TEST(CheckOption, NamesOptionValueAndBounds) {
  try {
    check_option("allowance, mm,", 120.5, 0, 100);
    FAIL() << "nothing was thrown";
  } catch (const UsageError& e) {
    EXPECT_STREQ(e.what(), "allowance, mm, is 120.5; it must be 0 to 100");
  }
}

TEST(CheckOption, BoundsBelongToWhatIsAllowed) {
  EXPECT_NO_THROW(check_option("share", 0, 0, 1));
  EXPECT_NO_THROW(check_option("share", 1, 0, 1));
  EXPECT_THROW(check_option("share", -1e-12, 0, 1), UsageError);
  EXPECT_THROW(check_option("share", 1.001, 0, 1), UsageError);
  EXPECT_THROW(check_option("share", std::numeric_limits<double>::quiet_NaN(), 0, 1), UsageError);
}

TEST(CheckOption, WhatIsNotGivenIsNotChecked) {
  EXPECT_NO_THROW(check_option("width, mm,", std::optional<double>{}, 100, 5000));
  EXPECT_NO_THROW(check_option("width, mm,", std::optional<double>{100}, 100, 5000));
  EXPECT_THROW(check_option("width, mm,", std::optional<double>{99}, 100, 5000), UsageError);
}

}  // namespace
}  // namespace chalkfold
