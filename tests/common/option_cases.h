// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <gtest/gtest.h>

#include <functional>
#include <string>
#include <vector>

#include "pipeline/common/error.h"

namespace chalkfold::test {

/// One option out of bounds and the words by which check() must name it, its value included.
template <class Options>
struct BadOption {
  std::string named;
  std::function<void(Options&)> spoil;
};

/// check() passes what is default-constructed, and refuses each bad option by its name.
template <class Options>
void expect_checked(const std::vector<BadOption<Options>>& cases, const Options& good = {}) {
  EXPECT_NO_THROW(check(good));
  for (const BadOption<Options>& bad : cases) {
    Options options = good;
    bad.spoil(options);
    try {
      check(options);
      ADD_FAILURE() << "passed: " << bad.named;
    } catch (const UsageError& e) {
      EXPECT_NE(std::string(e.what()).find(bad.named), std::string::npos) << e.what() << " does not say " << bad.named;
    }
  }
}

}  // namespace chalkfold::test
