// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/write_files.h"

#include <fmt/format.h>

#include <fstream>
#include <iterator>

#include "pipeline/common/error.h"
#include "pipeline/common/utf8.h"
#include "pipeline/common/write_file.h"

namespace chalkfold {

std::string read_named_file(const std::filesystem::path& file) {
  std::error_code error;
  if (std::filesystem::is_directory(file, error))
    throw FileError(fmt::format("{} is a folder: name the files in it", plain_text(file.string())));
  std::ifstream stream(file, std::ios::binary);
  if (!stream) throw FileError(fmt::format("cannot read {}: check the name and the folder", plain_text(file.string())));
  std::string bytes{std::istreambuf_iterator<char>(stream), std::istreambuf_iterator<char>()};
  if (stream.bad()) throw FileError(fmt::format("{} could not be read to its end", plain_text(file.string())));
  return bytes;
}

void write_all_or_none(const std::filesystem::path& out, const std::vector<OutputFile>& files) {
  std::size_t done = 0;
  try {
    for (; done < files.size(); ++done) write_file_atomically(out / files[done].place, files[done].bytes);
  } catch (const FileError&) {
    std::error_code none;
    for (std::size_t i = 0; i < done; ++i) std::filesystem::remove(out / files[i].place, none);
    throw;
  }
}

}  // namespace chalkfold
