// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/json/json_place.h"

#include <fmt/format.h>

#include <algorithm>

#include "pipeline/common/error.h"
#include "pipeline/common/nearest_name.h"
#include "pipeline/common/utf8.h"

namespace chalkfold::output {

namespace {
using Json = nlohmann::json;
constexpr std::size_t shown_max = 40;  // letters of a value that a message repeats
constexpr const char* remedy = "Put back the file as chalkfold wrote it, or run the photos again.";

std::string found(const Json& value) {
  if (value.is_object()) return "an object";
  if (value.is_array()) return fmt::format("a list of {}", value.size());
  if (value.is_null()) return "null";
  const std::string shown = plain_text(value.dump());
  return shown.size() <= shown_max ? shown : shown.substr(0, shown_max) + "...";
}

bool is_point(const Json& value) {
  return value.is_array() && value.size() == 2 && value[0].is_number() && value[1].is_number();
}
}  // namespace

Json parsed_json(std::string_view bytes, const std::string& file) {
  try {
    return Json::parse(bytes);
  } catch (const Json::parse_error& error) {
    const char* what = error.byte > bytes.size() ? "the file was cut short" : "this is no JSON";
    throw FileError(fmt::format("{}: {} at byte {} of {}. {}", file, what, error.byte, bytes.size(), remedy));
  } catch (const Json::exception&) {
    throw FileError(fmt::format("{}: a number in it is too large to be read. {}", file, remedy));
  }
}

void JsonPlace::fail(const std::string& expected) const {
  throw FileError(fmt::format("{}: {}: found {}, expected {}. {}", file_, key_.empty() ? "the whole file" : key_,
                              found(*value_), expected, remedy));
}

JsonPlace JsonPlace::operator[](const std::string& key) const {
  if (!value_->is_object()) fail("an object");
  const auto at = value_->find(key);
  const std::string name = key_.empty() ? key : key_ + "." + key;
  if (at == value_->end()) throw FileError(fmt::format("{}: {}: is missing. {}", file_, name, remedy));
  return {*at, file_, name};
}

JsonPlace JsonPlace::member(std::size_t index) const {
  return {(*value_)[index], file_, fmt::format("{}[{}]", key_, index)};
}

void JsonPlace::only(std::initializer_list<const char*> keys) const {
  if (!value_->is_object()) fail("an object");
  const std::vector<std::string> known(keys.begin(), keys.end());
  for (const auto& [key, value] : value_->items()) {
    if (std::find(known.begin(), known.end(), key) != known.end()) continue;
    const std::string nearest = nearest_name(key, known);
    throw FileError(fmt::format("{}: {}{}: no such key{}. {}", file_, key_.empty() ? "" : key_ + ".", plain_text(key),
                                nearest.empty() ? "" : ", perhaps " + nearest + " is meant", remedy));
  }
}

std::vector<JsonPlace> JsonPlace::items(std::size_t least) const {
  if (!value_->is_array() || value_->size() < least) {
    fail(least == 0 ? "a list" : fmt::format("a list of {} or more", least));
  }
  std::vector<JsonPlace> members;
  for (std::size_t i = 0; i < value_->size(); ++i) members.push_back(member(i));
  return members;
}

double JsonPlace::number() const {
  if (!value_->is_number()) fail("a number");
  return value_->get<double>();
}

double JsonPlace::not_negative() const {
  if (!value_->is_number() || value_->get<double>() < 0) fail("a number of 0 or more");
  return value_->get<double>();
}

double JsonPlace::share() const {
  if (!value_->is_number() || value_->get<double>() < 0 || value_->get<double>() > 1) fail("a number from 0 to 1");
  return value_->get<double>();
}

int JsonPlace::integer(int least, int most) const {
  const double value = value_->is_number() ? value_->get<double>() : least - 1.0;
  if (!value_->is_number_integer() || value < least || value > most) {
    fail(fmt::format("a whole number from {} to {}", least, most));
  }
  return value_->get<int>();
}

bool JsonPlace::yes_or_no() const {
  if (!value_->is_boolean()) fail("true or false");
  return value_->get<bool>();
}

std::string JsonPlace::text() const {
  if (!value_->is_string()) fail("a text in quotes");
  return value_->get<std::string>();
}

Vec2 JsonPlace::point() const {
  if (!is_point(*value_)) fail("a point, [x, y]");
  return {(*value_)[0].get<double>(), (*value_)[1].get<double>()};
}

Polyline JsonPlace::points(std::size_t least) const {
  if (!value_->is_array() || value_->size() < least) fail(fmt::format("a list of {} points or more", least));
  Polyline points;
  points.reserve(value_->size());
  for (std::size_t i = 0; i < value_->size(); ++i) {
    const Json& p = (*value_)[i];
    if (!is_point(p)) member(i).fail("a point, [x, y]");
    points.emplace_back(p[0].get<double>(), p[1].get<double>());
  }
  return points;
}

std::vector<double> JsonPlace::numbers(std::size_t count) const {
  if (!value_->is_array() || value_->size() != count) fail(fmt::format("a list of {} numbers", count));
  std::vector<double> numbers;
  numbers.reserve(count);
  for (std::size_t i = 0; i < count; ++i) {
    const Json& value = (*value_)[i];
    if (!value.is_number() || value.get<double>() < 0) member(i).fail("a number of 0 or more");
    numbers.push_back(value.get<double>());
  }
  return numbers;
}

}  // namespace chalkfold::output
