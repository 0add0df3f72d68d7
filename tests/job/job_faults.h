// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "pipeline/common/error.h"
#include "pipeline/job/plan/job_file.h"

namespace chalkfold::test {

/// What is wrong with a job file, as the user reads it; empty when nothing is.
inline std::string faults_of(const std::string& bytes) {
  try {
    job::read_job_file(bytes, "job.json", "jobs");
  } catch (const UsageError& e) {
    return e.what();
  }
  return "";
}

}  // namespace chalkfold::test
