// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <fcntl.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <stdexcept>
#include <string>
#include <vector>

namespace chalkfold::test {

inline std::string read_whole(const std::filesystem::path& file) {
  std::ifstream stream(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(stream), std::istreambuf_iterator<char>()};
}

inline void write_whole(const std::filesystem::path& file, const std::string& bytes) {
  std::ofstream(file, std::ios::binary) << bytes;
}

/// A folder of the test's own, gone with it.
class TemporaryFolder {
 public:
  TemporaryFolder() {
    std::string name = (std::filesystem::temp_directory_path() / "chalkfold-test-XXXXXX").string();
    if (::mkdtemp(name.data()) == nullptr) throw std::runtime_error("no temporary folder");
    path_ = name;
  }
  ~TemporaryFolder() {
    std::error_code none;
    std::filesystem::remove_all(path_, none);
  }
  TemporaryFolder(const TemporaryFolder&) = delete;
  TemporaryFolder& operator=(const TemporaryFolder&) = delete;
  const std::filesystem::path& path() const { return path_; }
  std::filesystem::path operator/(const std::string& name) const { return path_ / name; }

 private:
  std::filesystem::path path_;
};

struct ProgramRun {
  /// -1 when it was ended by a signal
  int exit = -1;
  std::string out, err;
};

/// Runs a program with its arguments and the test's own environment, and waits for it. Throws when it cannot be
/// started.
inline ProgramRun run_program(const std::vector<std::string>& words) {
  const TemporaryFolder folder;
  const std::string out = (folder / "out").string(), err = (folder / "err").string();
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_addopen(&actions, STDIN_FILENO, "/dev/null", O_RDONLY, 0);
  posix_spawn_file_actions_addopen(&actions, STDOUT_FILENO, out.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600);
  posix_spawn_file_actions_addopen(&actions, STDERR_FILENO, err.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600);
  std::vector<char*> arguments;
  for (const std::string& word : words) arguments.push_back(const_cast<char*>(word.c_str()));
  arguments.push_back(nullptr);
  pid_t child = 0;
  const int failed = posix_spawnp(&child, arguments[0], &actions, nullptr, arguments.data(), environ);
  posix_spawn_file_actions_destroy(&actions);
  if (failed != 0) throw std::runtime_error("cannot start " + words[0]);
  int status = 0;
  while (waitpid(child, &status, 0) < 0) {
  }
  return {WIFEXITED(status) ? WEXITSTATUS(status) : -1, read_whole(out), read_whole(err)};
}

/// Every file below a folder, with its bytes; the key is the path relative to it. What a run keeps for the next one (.chalkfold/) is left out.
inline std::vector<std::pair<std::string, std::string>> files_below(const std::filesystem::path& folder) {
  std::vector<std::pair<std::string, std::string>> files;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(folder)) {
    const std::string name = std::filesystem::relative(entry.path(), folder).string();
    const bool kept = name.starts_with(".chalkfold/") || name.find("/.chalkfold/") != std::string::npos;
    if (entry.is_regular_file() && !kept) files.emplace_back(name, read_whole(entry.path()));
  }
  std::sort(files.begin(), files.end());
  return files;
}

}  // namespace chalkfold::test
