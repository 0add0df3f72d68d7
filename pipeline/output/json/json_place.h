// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <initializer_list>
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "pipeline/geometry/point.h"

namespace chalkfold::output {

/// The value that a JSON file's bytes hold. Throws FileError naming `file` when they are cut short or are no JSON.
nlohmann::json parsed_json(std::string_view bytes, const std::string& file);

/// A value in a JSON file and where it stands. What cannot be read as it is asked for throws a FileError that names the
/// file, the key, what was found and what was expected. Numbers are in the file's unit. The JSON value must outlive it.
class JsonPlace {
 public:
  JsonPlace(const nlohmann::json& whole, std::string file) : value_(&whole), file_(std::move(file)) {}

  /// The value of a key. The place must be an object and hold it.
  JsonPlace operator[](const std::string& key) const;
  /// Whether it is an object with this key.
  bool has(const std::string& key) const { return value_->is_object() && value_->contains(key); }
  /// Refuses an object with other keys than these, naming the nearest known one.
  void only(std::initializer_list<const char*> keys) const;
  /// The members of an array of at least `least`.
  std::vector<JsonPlace> items(std::size_t least = 0) const;
  bool is_null() const { return value_->is_null(); }

  double number() const;
  double not_negative() const;
  /// 0..1
  double share() const;
  int integer(int least, int most = 1000000) const;
  bool yes_or_no() const;
  std::string text() const;
  /// [x, y]
  Vec2 point() const;
  Polyline points(std::size_t least = 0) const;
  /// not negative, exactly `count` of them
  std::vector<double> numbers(std::size_t count) const;

  /// The value whose name stands here.
  template <class Value>
  Value one_of(std::initializer_list<std::pair<const char*, Value>> names) const {
    const std::string given = text();
    std::string known;
    for (const auto& [name, value] : names) {
      if (given == name) return value;
      known += (known.empty() ? "\"" : ", \"") + std::string(name) + "\"";
    }
    fail("one of " + known);
  }

  /// Throws the FileError: "pieces/seat.json: edges[2].allowance: found a text, expected a number. ..."
  [[noreturn]] void fail(const std::string& expected) const;

 private:
  JsonPlace(const nlohmann::json& value, std::string file, std::string key)
      : value_(&value), file_(std::move(file)), key_(std::move(key)) {}
  JsonPlace member(std::size_t index) const;

  const nlohmann::json* value_;
  std::string file_, key_;
};

}  // namespace chalkfold::output
