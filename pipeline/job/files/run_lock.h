// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>

namespace chalkfold::job {

/// Holds an output folder for one run. The lock is the kernel's (flock on OUT/.chalkfold/lock), so a run that was killed holds nothing: a
/// stale lock file is simply taken over. While held, the file names the owner's process and machine.
class RunLock {
 public:
  /// Makes OUT and OUT/.chalkfold if need be. Throws FileError that names the owner when another run holds the folder, or when it cannot be written.
  explicit RunLock(const std::filesystem::path& out);
  ~RunLock();
  RunLock(const RunLock&) = delete;
  RunLock& operator=(const RunLock&) = delete;

 private:
  int descriptor_ = -1;
};

/// OUT/.chalkfold: what a run keeps for the next one.
std::filesystem::path state_folder(const std::filesystem::path& out);

/// Removes the temporary files of runs that were killed while they wrote (write_file.h) from OUT and its folders. Only with the lock held.
void remove_stale_temporaries(const std::filesystem::path& out);

}  // namespace chalkfold::job
