// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/plan/json_lines.h"

#include <nlohmann/json.hpp>

namespace chalkfold::job {
namespace {

class Walker {
 public:
  explicit Walker(std::string_view text) : text_(text) {}
  std::map<std::string, int> run() {
    value("", 0);
    return std::move(lines_);
  }

 private:
  static constexpr int deepest = 200;

  bool end() const { return at_ >= text_.size(); }
  char here() const { return end() ? '\0' : text_[at_]; }
  void step() {
    if (here() == '\n') ++line_;
    ++at_;
  }

  void pass_blanks() {
    while (!end()) {
      if (here() == ' ' || here() == '\t' || here() == '\r' || here() == '\n') {
        step();
      } else if (text_.substr(at_, 2) == "//") {
        while (!end() && here() != '\n') step();
      } else if (text_.substr(at_, 2) == "/*") {
        while (!end() && text_.substr(at_, 2) != "*/") step();
        at_ = std::min(at_ + 2, text_.size());
      } else {
        return;
      }
    }
  }

  /// A string as it stands, quotes and all.
  std::string_view quoted() {
    const std::size_t from = at_;
    step();
    while (!end() && here() != '"') {
      if (here() == '\\') step();
      step();
    }
    step();
    return text_.substr(from, std::min(at_, text_.size()) - from);
  }

  bool value(const std::string& place, int depth) {
    pass_blanks();
    if (end() || depth > deepest) return false;
    lines_.emplace(place, line_);
    if (here() == '{') return object(place, depth);
    if (here() == '[') return array(place, depth);
    if (here() == '"') {
      quoted();
      return true;
    }
    while (!end() && std::string_view(",]}\n\r\t /").find(here()) == std::string_view::npos) step();
    return true;
  }

  bool object(const std::string& place, int depth) {
    step();
    for (;;) {
      pass_blanks();
      if (here() == '}') return step(), true;
      if (here() != '"') return false;
      const int line = line_;
      const auto name = nlohmann::json::parse(quoted(), nullptr, false);
      std::string inner = place;
      if (!inner.empty()) inner += '.';
      inner += name.is_string() ? name.get<std::string>() : "?";
      lines_.emplace(inner, line);
      pass_blanks();
      if (here() != ':') return false;
      step();
      if (!value(inner, depth + 1)) return false;
      pass_blanks();
      if (here() == ',')
        step();
      else if (here() != '}')
        return false;
    }
  }

  bool array(const std::string& place, int depth) {
    step();
    for (std::size_t i = 0;; ++i) {
      pass_blanks();
      if (here() == ']') return step(), true;
      if (end() || !value(place + "[" + std::to_string(i) + "]", depth + 1)) return false;
      pass_blanks();
      if (here() == ',')
        step();
      else if (here() != ']')
        return false;
    }
  }

  std::string_view text_;
  std::size_t at_ = 0;
  int line_ = 1;
  std::map<std::string, int> lines_;
};

}  // namespace

std::map<std::string, int> lines_of_values(std::string_view text) { return Walker(text).run(); }

}  // namespace chalkfold::job
