// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <string>
#include <vector>

namespace chalkfold::job {

/// All bytes of a file that the user named. Throws FileError when it is a folder or cannot be read to its end.
std::string read_named_file(const std::filesystem::path& file);

struct OutputFile {
  /// relative to OUT
  std::string place;
  std::string bytes;
};

/// Writes them one by one, each whole (write_file_atomically), but for those that hold these bytes already; when one cannot be written, those written before it are removed again and
/// FileError is thrown.
void write_all_or_none(const std::filesystem::path& out, const std::vector<OutputFile>& files);

}  // namespace chalkfold::job
