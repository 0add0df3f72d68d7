// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <map>
#include <vector>

#include "pipeline/job/plan/job_reader.h"
#include "pipeline/survey/survey.h"

namespace chalkfold::job {

/// The files that `key` lists, paths from `folder`. `what` says in a fault what each is to be.
std::vector<std::filesystem::path> read_file_list(JobReader& reader, const nlohmann::json& json,
                                                  const std::string& place, const char* key, const char* what,
                                                  const std::filesystem::path& folder);

/// Photos as a job or a panel lists them: a file's name, or {"file": ..., "phone": ..., "setup": ...}. What is said of them is added to `said`, by the
/// file's path in normal form; to say two things of one photo is a fault.
std::vector<std::filesystem::path> read_photo_list(JobReader& reader, const nlohmann::json& json,
                                                   const std::string& place, const std::filesystem::path& folder,
                                                   std::map<std::filesystem::path, survey::PhotoSaid>& said);

}  // namespace chalkfold::job
