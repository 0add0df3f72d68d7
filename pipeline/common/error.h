// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <stdexcept>
#include <string>

namespace chalkfold {

/// What the program returns to the shell.
enum class ExitCode : int {
  all_measured = 0,
  /// finished, but some panels or photos were refused
  some_refused = 1,
  /// wrong arguments or job file
  usage = 2,
  /// could not read or write
  file = 3,
  /// the program itself failed: a broken invariant, memory that ran out
  internal = 4,
  /// stopped by the user with Ctrl-C: 128 and the signal's number, as shells count
  interrupted = 130,
  /// the same by SIGTERM
  terminated = 143,
};

/// The user asked for something that cannot be done; the message says what to do instead.
class UserError : public std::runtime_error {
 public:
  UserError(ExitCode exit_code, const std::string& message) : std::runtime_error(message), exit_code_(exit_code) {}
  ExitCode exit_code() const { return exit_code_; }

 private:
  ExitCode exit_code_;
};

/// Wrong arguments, a wrong option value, a wrong job file. Exit code 2.
class UsageError : public UserError {
 public:
  explicit UsageError(const std::string& message) : UserError(ExitCode::usage, message) {}
};

/// The user stopped the run; what was finished is kept. Exit code 130.
class Interrupted : public UserError {
 public:
  explicit Interrupted(const std::string& message) : UserError(ExitCode::interrupted, message) {}
};

/// A file or folder that cannot be read or written. Exit code 3.
class FileError : public UserError {
 public:
  explicit FileError(const std::string& message) : UserError(ExitCode::file, message) {}
};

}  // namespace chalkfold
