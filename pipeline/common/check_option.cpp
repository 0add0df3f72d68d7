// SPDX-License-Identifier: Apache-2.0
#include "pipeline/common/check_option.h"

#include <array>
#include <cstdio>
#include <string>

#include "pipeline/common/error.h"

namespace chalkfold {

void check_option(std::string_view name, double value, double least, double most) {
  if (value >= least && value <= most) return;
  std::array<char, 120> numbers{};
  std::snprintf(numbers.data(), numbers.size(), " is %g; it must be %g to %g", value, least, most);
  throw UsageError(std::string(name) + numbers.data());
}

void check_option(std::string_view name, const std::optional<double>& value, double least, double most) {
  if (value) check_option(name, *value, least, most);
}

}  // namespace chalkfold
