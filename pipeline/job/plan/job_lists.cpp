// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/plan/job_lists.h"

#include <fmt/format.h>

#include <optional>

namespace chalkfold::job {
namespace {
namespace fs = std::filesystem;
using Json = nlohmann::json;
using Reader = JobReader;

fs::path in_folder(const std::string& name, const fs::path& folder) {
  const fs::path file(name);
  return file.is_absolute() ? file : folder / file;
}

bool a_name(const Json& json) { return json.is_string() && !json.get<std::string>().empty(); }

void say(Reader& reader, const std::string& place, const char* key, const std::string& word, std::string& said) {
  if (word.empty()) return;
  if (!said.empty() && said != word)
    reader.fault(Reader::inner(place, key),
                 fmt::format("must be the same wherever this photo is listed; it was \"{}\" before", said));
  said = word;
}

/// Empty: not readable, and told.
std::optional<fs::path> photo_of(Reader& reader, const Json& json, const std::string& place, const fs::path& folder,
                                 std::map<fs::path, survey::PhotoSaid>& said) {
  if (a_name(json)) return in_folder(json.get<std::string>(), folder);
  if (!json.is_object()) {
    reader.fault(place,
                 fmt::format("must be a photo's file name in quotes, or {{\"file\": ..., \"setup\": ...}}, it is {}",
                             Reader::shown(json)));
    return std::nullopt;
  }
  reader.object(json, place, {"file", "phone", "setup"});
  const std::string phone = reader.text(json, place, "phone").value_or(""),
                    setup = reader.text(json, place, "setup").value_or("");
  if (!json.contains("file") || !a_name(json["file"])) {
    reader.fault(json.contains("file") ? Reader::inner(place, "file") : place,
                 "needs file, the photo's file name in quotes");
    return std::nullopt;
  }
  const fs::path file = in_folder(json["file"].get<std::string>(), folder);
  survey::PhotoSaid& known = said[file.lexically_normal()];
  say(reader, place, "phone", phone, known.phone);
  say(reader, place, "setup", setup, known.setup);
  return file;
}

}  // namespace

std::vector<fs::path> read_file_list(Reader& reader, const Json& json, const std::string& place, const char* key,
                                     const char* what, const fs::path& folder) {
  std::vector<fs::path> files;
  const Json* list = reader.list(json, place, key);
  for (std::size_t i = 0; list && i < list->size(); ++i) {
    const Json& one = (*list)[i];
    if (a_name(one))
      files.push_back(in_folder(one.get<std::string>(), folder));
    else
      reader.fault(Reader::item(Reader::inner(place, key), i),
                   fmt::format("must be {} in quotes, it is {}", what, Reader::shown(one)));
  }
  return files;
}

std::vector<fs::path> read_photo_list(Reader& reader, const Json& json, const std::string& place,
                                      const fs::path& folder, std::map<fs::path, survey::PhotoSaid>& said) {
  std::vector<fs::path> photos;
  const Json* list = reader.list(json, place, "photos");
  for (std::size_t i = 0; list && i < list->size(); ++i)
    if (const auto photo = photo_of(reader, (*list)[i], Reader::item(Reader::inner(place, "photos"), i), folder, said))
      photos.push_back(*photo);
  return photos;
}

}  // namespace chalkfold::job
