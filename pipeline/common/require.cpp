// SPDX-License-Identifier: Apache-2.0
#include "pipeline/common/require.h"

#include <array>
#include <cstdio>

namespace chalkfold::requirement {
namespace {

/// The compiler tells files by the path that it was given; this file's own says how much of it lies above the project.
std::string_view within_project(std::string_view file) {
  constexpr std::string_view own = "pipeline/common/require.cpp";
  const std::string_view here = CallPlace::here().file;
  if (!here.ends_with(own)) return file;
  const std::string_view above = here.substr(0, here.size() - own.size());
  return file.starts_with(above) ? file.substr(above.size()) : file;
}

}  // namespace

std::string text_of(double value) {
  std::array<char, 40> text{};
  std::snprintf(text.data(), text.size(), "%.9g", value);
  return text.data();
}

std::string text_of(long long value) { return std::to_string(value); }
std::string text_of(unsigned long long value) { return std::to_string(value); }

void failed(const std::string& what, const CallPlace& where) {
  throw PreconditionError(std::string(within_project(where.file)) + ":" + std::to_string(where.line) + ": " + what);
}

}  // namespace chalkfold::requirement
