// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

namespace chalkfold::test {

/// Copies of a document, each with one value or list in it replaced by something else: null, text, a negative, huge or broken number,
/// an empty list, an object, or nothing at all. Of long lists only the first and last members are spoilt.
inline void for_each_spoilt(const nlohmann::json& good,
                            const std::function<void(const nlohmann::json&, const std::string& place)>& look) {
  using Json = nlohmann::json;
  const std::vector<Json> strange = {nullptr, "strange", -1.5, 1e300, 0.5, true, Json::array(), Json::object()};
  const std::function<void(const Json&, const Json::json_pointer&)> walk = [&](const Json& value,
                                                                               const Json::json_pointer& at) {
    if (!at.empty()) {
      for (const Json& other : strange) {
        Json spoilt = good;
        spoilt[at] = other;
        look(spoilt, at.to_string());
      }
      Json without = good;
      Json& parent = without[at.parent_pointer()];
      if (parent.is_object()) parent.erase(at.back());
      if (parent.is_array()) parent.erase(static_cast<std::size_t>(std::stoul(at.back())));
      look(without, at.to_string() + " taken out");
    }
    if (value.is_object()) {
      for (const auto& [key, member] : value.items()) walk(member, at / key);
    }
    for (std::size_t i = 0; value.is_array() && i < value.size(); ++i) {
      if (i == 0 || i + 1 == value.size()) walk(value[i], at / i);
    }
  };
  walk(good, Json::json_pointer());
}

}  // namespace chalkfold::test
