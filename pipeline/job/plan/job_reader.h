// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <fmt/format.h>

#include <algorithm>
#include <cstdint>
#include <map>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "pipeline/common/error.h"
#include "pipeline/common/nearest_name.h"
#include "pipeline/common/utf8.h"
#include "pipeline/job/plan/json_lines.h"

namespace chalkfold::job {

/// Reads a job file's values and gathers every fault with its line. `place` is where a value stands, as lines_of_values names it: "panels[2].name".
class JobReader {
 public:
  using Json = nlohmann::json;

  JobReader(std::string_view bytes, const std::string& where) : lines_(lines_of_values(bytes)), where_(where) {}

  void fault(const std::string& place, const std::string& what) {
    auto line = lines_.find(place);
    if (line == lines_.end()) line = lines_.find("");
    faults_.emplace_back(line == lines_.end() ? 1 : line->second,
                         fmt::format("{}: {}", place.empty() ? "the job" : plain_text(place), what));
  }

  /// An object with none but known keys.
  bool object(const Json& json, const std::string& place, const std::vector<std::string>& known) {
    if (!json.is_object()) {
      fault(place, fmt::format("must be an object {{...}}, it is {}", kind(json)));
      return false;
    }
    for (const auto& [key, value] : json.items()) {
      if (std::find(known.begin(), known.end(), key) != known.end()) continue;
      const std::string nearest = nearest_name(key, known);
      fault(inner(place, key), nearest.empty() ? fmt::format("unknown key; known here are {}", fmt::join(known, ", "))
                                               : fmt::format("unknown key; did you mean {}?", nearest));
    }
    return true;
  }

  std::optional<double> number(const Json& json, const std::string& place, const char* key, double least, double most) {
    if (!json.contains(key)) return std::nullopt;
    const Json& v = json[key];
    if (v.is_number() && v.get<double>() >= least && v.get<double>() <= most) return v.get<double>();
    fault(inner(place, key), fmt::format("must be a number from {:g} to {:g}, it is {}", least, most, shown(v)));
    return std::nullopt;
  }

  std::optional<int> whole(const Json& json, const std::string& place, const char* key, int least, int most) {
    if (!json.contains(key)) return std::nullopt;
    const Json& v = json[key];
    if (v.is_number_integer() && v.get<std::int64_t>() >= least && v.get<std::int64_t>() <= most) return v.get<int>();
    fault(inner(place, key), fmt::format("must be a whole number from {} to {}, it is {}", least, most, shown(v)));
    return std::nullopt;
  }

  std::optional<bool> flag(const Json& json, const std::string& place, const char* key) {
    if (!json.contains(key)) return std::nullopt;
    if (json[key].is_boolean()) return json[key].get<bool>();
    fault(inner(place, key), fmt::format("must be true or false, it is {}", shown(json[key])));
    return std::nullopt;
  }

  std::optional<std::string> text(const Json& json, const std::string& place, const char* key) {
    if (!json.contains(key)) return std::nullopt;
    if (json[key].is_string()) return plain_text(json[key].get<std::string>());
    fault(inner(place, key), fmt::format("must be text in quotes, it is {}", shown(json[key])));
    return std::nullopt;
  }

  template <class Value>
  std::optional<Value> one_of(const Json& json, const std::string& place, const char* key,
                              const std::vector<std::pair<std::string, Value>>& words) {
    if (!json.contains(key)) return std::nullopt;
    std::vector<std::string> known;
    for (const auto& [word, value] : words) {
      if (json[key] == word) return value;
      known.push_back(word);
    }
    fault(inner(place, key), fmt::format("must be one of {}, it is {}", fmt::join(known, ", "), shown(json[key])));
    return std::nullopt;
  }

  const Json* list(const Json& json, const std::string& place, const char* key) {
    if (!json.contains(key)) return nullptr;
    if (json[key].is_array()) return &json[key];
    fault(inner(place, key), fmt::format("must be a list [...], it is {}", kind(json[key])));
    return nullptr;
  }

  static std::string inner(const std::string& place, const std::string& key) {
    return place.empty() ? key : place + "." + key;
  }
  static std::string item(const std::string& place, std::size_t i) { return fmt::format("{}[{}]", place, i); }

  void finish() {
    if (faults_.empty()) return;
    std::stable_sort(faults_.begin(), faults_.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
    std::string all;
    for (const auto& [line, what] : faults_)
      all += fmt::format("{}{}, line {}: {}", all.empty() ? "" : "\n", where_, line, what);
    throw UsageError(all);
  }

  static std::string shown(const Json& v) {
    const std::string text = plain_text(v.dump(-1, ' ', false, Json::error_handler_t::replace));
    return text.size() <= 60 ? text : kind(v);
  }
  static std::string kind(const Json& v) {
    return v.is_object()    ? "an object"
           : v.is_array()   ? "a list"
           : v.is_string()  ? "text"
           : v.is_null()    ? "null"
           : v.is_boolean() ? "true or false"
                            : "a number";
  }

 private:
  std::map<std::string, int> lines_;
  std::string where_;
  std::vector<std::pair<int, std::string>> faults_;
};

}  // namespace chalkfold::job
