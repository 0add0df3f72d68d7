// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/plan/panel_names.h"

#include <fmt/format.h>

#include <array>

#include "pipeline/common/utf8.h"

namespace chalkfold::job {

namespace {
/// Names that some systems keep for devices, whatever ending follows them.
bool is_device(const std::string& name) {
  static constexpr std::array<std::string_view, 4> plain = {"con", "prn", "aux", "nul"};
  const std::string stem = lower_case(name.substr(0, name.find('.')));
  for (const std::string_view device : plain) {
    if (stem == device) return true;
  }
  const bool port = stem.size() == 4 && (stem.starts_with("com") || stem.starts_with("lpt"));
  return port && stem[3] >= '1' && stem[3] <= '9';
}

std::string cut(const std::string& text, std::size_t bytes) {
  std::string out;
  for (const char32_t c : code_points(text)) {
    const std::string next = utf8_from(std::u32string(1, c));
    if (out.size() + next.size() > bytes) break;
    out += next;
  }
  return out;
}
}  // namespace

std::string lower_case(std::string text) {
  for (char& c : text) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  return text;
}

std::string safe_name(std::string_view text) {
  std::string name = plain_text(text);
  for (char& c : name) {
    if (std::string_view("/\\:*?\"<>|").find(c) != std::string_view::npos) c = '-';
  }
  const auto trim = [&name] {
    const std::size_t first = name.find_first_not_of(". "), last = name.find_last_not_of(". ");
    name = first == std::string::npos ? "" : name.substr(first, last - first + 1);
  };
  trim();
  name = cut(name, safe_name_max - 1);
  trim();
  if (name.empty()) return "panel";
  return is_device(name) ? "_" + name : name;
}

PanelNames::PanelNames(const std::vector<std::filesystem::path>& photos) : bases_(photos.size()) {
  std::vector<std::size_t> doubles;
  for (std::size_t i = 0; i < photos.size(); ++i) {
    const std::string name = safe_name(photos[i].stem().string());
    bases_[i] = name;
    if (!taken_.insert(lower_case(name)).second) doubles.push_back(i);
  }
  // Numbers are given only once every photo that has a name of its own has kept it.
  for (const std::size_t i : doubles) {
    const std::string name = bases_[i];
    for (int number = 2; !taken_.insert(lower_case(bases_[i])).second; ++number)
      bases_[i] = fmt::format("{}-{}", name, number);
  }
}

std::string PanelNames::name(std::size_t photo, std::size_t panel) const {
  std::string name = base(photo);
  int number = 1;
  for (std::size_t k = 0; k < panel; ++k) {
    do {
      name = fmt::format("{}-{}", base(photo), ++number);
    } while (taken_.contains(lower_case(name)));
  }
  return name;
}

}  // namespace chalkfold::job
