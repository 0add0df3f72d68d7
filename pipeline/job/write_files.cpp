// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/write_files.h"

#include "pipeline/common/error.h"
#include "pipeline/common/write_file.h"

namespace chalkfold {

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
