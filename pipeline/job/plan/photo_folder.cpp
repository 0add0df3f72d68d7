// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/plan/photo_folder.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <string>

#include "pipeline/common/error.h"
#include "pipeline/common/utf8.h"

namespace chalkfold::job {
namespace {

namespace fs = std::filesystem;

/// A file that phones and scanners give this kind of name; whether it is one is seen when it is read.
bool named_as_photo(const fs::path& file) {
  constexpr std::array endings{".jpg", ".jpeg", ".png", ".tif", ".tiff", ".webp", ".heic", ".heif"};
  std::string ending = file.extension().string();
  std::transform(ending.begin(), ending.end(), ending.begin(), [](unsigned char c) { return std::tolower(c); });
  return !file.filename().string().starts_with('.') &&
         std::any_of(endings.begin(), endings.end(), [&](const char* known) { return ending == known; });
}

}  // namespace

std::vector<fs::path> photos_in(const fs::path& folder) {
  std::error_code error;
  std::vector<fs::path> photos;
  for (fs::directory_iterator file(folder, error), end; !error && file != end; file.increment(error)) {
    std::error_code unknown;
    if (named_as_photo(file->path()) && file->is_regular_file(unknown)) photos.push_back(file->path());
  }
  if (error) throw FileError(fmt::format("{}: {}", plain_text(folder.string()), error.message()));
  if (photos.empty())
    throw FileError(
        fmt::format("{}: there is no photo in this folder (jpg, jpeg, png, tif, tiff, webp, heic or heif): "
                    "copy the photos into it, or name another folder",
                    plain_text(folder.string())));
  std::sort(photos.begin(), photos.end());
  return photos;
}

}  // namespace chalkfold::job
