// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <set>
#include <string>
#include <string_view>
#include <vector>

namespace chalkfold::job {

/// A file name that every common system takes, as near to the text as can be: plain text (common/utf8.h), no / \ : * ?
/// " < > |, no dots or spaces at either end, no name of a device, at most safe_name_max bytes; "panel" when nothing is
/// left.
std::string safe_name(std::string_view text);

/// With ASCII capitals made small: names that differ by no more are one file on some systems.
std::string lower_case(std::string text);

/// bytes; leaves room for "-12.json" and for the temporary name
inline constexpr std::size_t safe_name_max = 120;

/// Names of panels from the names of their photos: "seat top.jpg" gives "seat top", "seat top-2", ... No two panels of
/// a run share a name, not even but for the case of its letters, and a name depends only on the list of photos and on
/// the panel's place in its own photo.
class PanelNames {
 public:
  explicit PanelNames(const std::vector<std::filesystem::path>& photos);

  /// Name of a photo's first panel.
  const std::string& base(std::size_t photo) const { return bases_.at(photo); }

  /// Name of a photo's panel, counted from 0.
  std::string name(std::size_t photo, std::size_t panel) const;

 private:
  std::vector<std::string> bases_;
  /// bases in lower case
  std::set<std::string> taken_;
};

}  // namespace chalkfold::job
