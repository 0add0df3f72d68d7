// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <nlohmann/json.hpp>
#include <string>

#include "tests/common/run_program.h"

namespace chalkfold::test {

/// A photograph that render_photos made (its name without ending). For test programs declared with use_rendered_photos.
inline std::filesystem::path rendered_photo(const std::string& name) {
  return std::filesystem::path(CHALKFOLD_RENDERED_PHOTOS) / (name + ".jpg");
}

/// The truth about it.
inline nlohmann::json truth_of(const std::string& name) {
  return nlohmann::json::parse(read_whole(std::filesystem::path(CHALKFOLD_RENDERED_PHOTOS) / (name + ".truth.json")));
}

/// Runs `chalkfold run` on photos as a user who measured the check bars and the thickness; the report's date is fixed.
inline ProgramRun measure(const std::vector<std::filesystem::path>& photos, const std::filesystem::path& out,
                          const std::vector<std::string>& more = {}) {
  ::setenv("SOURCE_DATE_EPOCH", "1000000000", 1);
  std::vector<std::string> words = {CHALKFOLD_PROGRAM, "run"};
  for (const std::filesystem::path& photo : photos) words.push_back(photo.string());
  for (const char* word :
       {"--long-bar-mm", "240", "--short-bar-mm", "170", "--thickness-mm", "1.2", "--quiet", "--out"})
    words.emplace_back(word);
  words.push_back(out.string());
  words.insert(words.end(), more.begin(), more.end());
  return run_program(words);
}

}  // namespace chalkfold::test
