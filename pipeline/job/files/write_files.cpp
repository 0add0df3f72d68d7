// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/files/write_files.h"

#include <fmt/format.h>

#include <algorithm>
#include <fstream>
#include <iterator>

#include "pipeline/common/error.h"
#include "pipeline/common/utf8.h"
#include "pipeline/common/write_file.h"

namespace chalkfold::job {
namespace {

bool holds(const std::filesystem::path& file, const std::string& bytes) {
  std::error_code error;
  if (std::filesystem::file_size(file, error) != bytes.size() || error) return false;
  std::ifstream stream(file, std::ios::binary);
  return stream && std::equal(bytes.begin(), bytes.end(), std::istreambuf_iterator<char>(stream),
                              std::istreambuf_iterator<char>());
}

}  // namespace

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
  std::vector<std::filesystem::path> written;
  try {
    for (const OutputFile& file : files) {
      if (holds(out / file.place, file.bytes)) continue;
      write_file_atomically(out / file.place, file.bytes);
      written.push_back(out / file.place);
    }
  } catch (const FileError&) {
    std::error_code none;
    for (const std::filesystem::path& file : written) std::filesystem::remove(file, none);
    throw;
  }
}

}  // namespace chalkfold::job
