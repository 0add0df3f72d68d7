// SPDX-License-Identifier: Apache-2.0
#include "pipeline/common/require.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <limits>

namespace chalkfold {
namespace {

using testing::MatchesRegex;

/// What a broken precondition says; empty when it holds.
std::string said(const std::function<void()>& call) {
  try {
    call();
  } catch (const PreconditionError& e) {
    return e.what();
  }
  return "";
}

TEST(Require, TellsPlaceNameValueAndBound) {
  const auto line = std::to_string(__LINE__ + 1);
  const std::string told = said([] { require_at_least("count of points", std::size_t{2}, 3); });
  EXPECT_EQ(told, "tests/common/require_test.cpp:" + line + ": count of points is 2, at least 3 needed");
}

TEST(Require, SaysNothingWhereItHolds) {
  EXPECT_NO_THROW(require(true, "never said"));
  EXPECT_NO_THROW(require_at_least("x", 3, 3));
  EXPECT_NO_THROW(require_above("x", 1e-300, 0));
  EXPECT_NO_THROW(require_within("x", 0.5, 0, 1));
  EXPECT_NO_THROW(require_within("x", 0, 0, 1));
  EXPECT_NO_THROW(require_within("x", 1, 0, 1));
  EXPECT_NO_THROW(require_equal("x", std::size_t{4}, 4));
  EXPECT_NO_THROW(require_index("x", 0, 1));
}

TEST(Require, EveryComparisonRefusesWhatLiesBeyondIt) {
  struct Case {
    std::function<void()> call;
    std::string told;
  };
  const double none = std::numeric_limits<double>::quiet_NaN();
  const Case cases[] = {
      {[] { require(false, "edges are not end to end"); }, ".*: edges are not end to end"},
      {[] { require_at_least("share", -0.25, 0); }, ".*: share is -0.25, at least 0 needed"},
      {[] { require_above("length, mm,", 0.0, 0); }, ".*: length, mm, is 0, more than 0 needed"},
      {[] { require_within("share", 1.5, 0, 1); }, ".*: share is 1.5, 0 to 1 needed"},
      {[] { require_within("place", -1, 0, 8); }, ".*: place is -1, 0 to 8 needed"},
      {[] { require_equal("weights", std::size_t{2}, 5); }, ".*: weights is 2, 5 needed"},
      {[] { require_index("corner", 4, 4); }, ".*: corner is 4, less than 4 needed"},
      {[] { require_index("corner", static_cast<std::size_t>(-1), 4); },
       ".*: corner is 18446744073709551615, less than 4 needed"},
      {[none] { require_at_least("share", none, 0); }, ".*: share is -?nan, at least 0 needed"},
      {[none] { require_above("share", none, 0); }, ".*: share is -?nan, more than 0 needed"},
      {[none] { require_within("share", none, 0, 1); }, ".*: share is -?nan, 0 to 1 needed"},
  };
  for (const Case& c : cases) EXPECT_THAT(said(c.call), MatchesRegex(c.told));
}

TEST(Require, IsAFaultOfTheProgramAndNoUserError) { EXPECT_THROW(require(false, "so"), std::logic_error); }

}  // namespace
}  // namespace chalkfold
