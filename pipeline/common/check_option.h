// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string_view>

namespace chalkfold {

/// For the check() of options: throws UsageError "NAME is VALUE; it must be LEAST to MOST" unless the value lies there. What is not
/// a number lies nowhere. `name`: in plain words with the unit, "allowance, mm,".
void check_option(std::string_view name, double value, double least, double most);

/// The same where one is given.
void check_option(std::string_view name, const std::optional<double>& value, double least, double most);

}  // namespace chalkfold
