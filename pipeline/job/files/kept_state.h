// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <mutex>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

namespace chalkfold::job {

/// Intermediate results of a run, kept under OUT/.chalkfold for the next one. A key says everything that a result depends on; the same key gives the same
/// bytes or nothing. Thread-safe.
class KeptState {
 public:
  /// `maker`: what else every key depends on, the program itself above all; empty: nothing is kept and nothing found.
  /// `fresh`: what is there already is not used.
  KeptState(const std::filesystem::path& out, std::string maker, bool fresh);

  bool keeps() const { return !maker_.empty(); }

  /// A key from all that a result depends on, part by part.
  std::string key(std::string_view kind, const std::vector<std::string>& parts) const;

  /// The bytes kept under a key; nothing when there are none or they are damaged.
  std::optional<std::string> find(const std::string& key);

  /// A disk that cannot take them is no reason to stop: the next run is slower then.
  void keep(const std::string& key, const std::string& bytes);

  /// Removes what this run neither found nor kept.
  void forget_others();

 private:
  std::filesystem::path file_of(const std::string& key) const;

  std::filesystem::path folder_;
  std::string maker_;
  bool fresh_;
  std::mutex mutex_;
  std::set<std::string> used_;
};

/// Names this build of the program, in hexadecimal digits: another build keeps nothing for this one. The checksum that the linker took of it (its build
/// id) or, where it left none, the SHA-256 of the program's own file; empty when that cannot be read.
std::string own_checksum();

/// SHA-256 of a file, or empty when it cannot be read.
std::string checksum_of(const std::filesystem::path& file);

}  // namespace chalkfold::job
