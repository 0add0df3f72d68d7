// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include "pipeline/survey/survey_draft.h"

namespace chalkfold::survey {
namespace {

/// What tells phones, and their lenses, apart.
struct PhoneKey {
  std::string said, make, model;
  int width = 0, height = 0;
  long focal = 0, equivalent = 0, zoom = 0;
  /// 0, or tells a sighting that is to be alone
  std::size_t alone = 0;

  auto tie() const { return std::tie(said, make, model, width, height, focal, equivalent, zoom, alone); }
  bool operator<(const PhoneKey& other) const { return tie() < other.tie(); }
  bool focal_known() const { return focal > 0 || equivalent > 0; }
  /// Whether a photo without a focal length may be of this lens.
  bool may_be(const PhoneKey& other) const {
    return said == other.said && width == other.width && height == other.height && alone == 0;
  }
};

PhoneKey key_of(const capture::Sighting& sighting, const std::string& said) {
  const capture::PhotoExif& e = sighting.exif;
  const SensorFrame f = frame_of(sighting);
  PhoneKey key;
  key.said = said;
  if (said.empty()) key.make = e.make, key.model = e.model;
  key.width = f.sensor_width(), key.height = f.sensor_height();
  key.focal = std::lround(100 * e.focal_mm), key.equivalent = std::lround(e.focal_35mm);
  key.zoom = zoom_key(e.digital_zoom);
  return key;
}

/// Messengers strip EXIF: such a photo of a phone that is said takes the lens of its other photos, if they are of one.
void take_the_one_lens(std::vector<PhoneKey>& keys) {
  const std::vector<PhoneKey> known = keys;
  for (PhoneKey& key : keys) {
    if (key.said.empty() || key.alone > 0 || key.focal_known()) continue;
    std::map<PhoneKey, int> lenses;
    for (const PhoneKey& other : known)
      if (other.focal_known() && other.may_be(key)) ++lenses[other];
    if (lenses.size() == 1) key = lenses.begin()->first;
  }
}

}  // namespace

bool usable(const capture::Sighting& s) { return !has_refusal(s.faults) && !s.sheets.empty(); }

long zoom_key(double digital_zoom) { return std::lround(100 * std::max(digital_zoom, 1.0)); }

std::vector<int> group_phones(std::span<const capture::Sighting> sightings, std::span<const PhotoSaid> said,
                              const std::set<std::size_t>& alone, std::vector<std::size_t>& begin_with) {
  std::vector<PhoneKey> keys;
  for (std::size_t i = 0; i < sightings.size(); ++i) {
    keys.push_back(usable(sightings[i]) ? key_of(sightings[i], said.empty() ? std::string() : said[i].phone)
                                        : PhoneKey{});
    if (alone.contains(i)) keys.back().alone = i + 1;
  }
  take_the_one_lens(keys);
  std::map<PhoneKey, int> phones;
  std::vector<int> phone(sightings.size(), -1);
  for (std::size_t i = 0; i < sightings.size(); ++i) {
    if (!usable(sightings[i])) continue;
    const auto [it, fresh] = phones.emplace(keys[i], static_cast<int>(phones.size()));
    phone[i] = it->second;
    if (fresh)
      begin_with.push_back(i);
    else if (std::size_t& first = begin_with[static_cast<std::size_t>(it->second)];
             sightings[first].exif.focal_35mm <= 0 && sightings[i].exif.focal_35mm > 0)
      first = i;
  }
  return phone;
}

}  // namespace chalkfold::survey
