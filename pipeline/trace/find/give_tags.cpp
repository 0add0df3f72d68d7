// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/find/give_tags.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "pipeline/geometry/polygon.h"

namespace chalkfold::trace {
namespace {

constexpr double about_equal = 1.3;  // times the nearest panel's distance: a reader of the photo would hesitate too

struct PlacedTag {
  int number = 0;
  Vec2 in_photo = Vec2::Zero(), on_table = Vec2::Zero();
};

struct Candidate {
  std::size_t panel = 0;
  /// mm, from the panel's outline to the tag's middle; 0 on the panel
  double distance = 0;
};

Fault warning(const char* code, std::string seen, std::string remedy, const capture::Sighting& sighting) {
  return {code, Severity::warning, std::move(seen), std::move(remedy), sighting.photo, ""};
}

std::string place(const PlacedTag& tag) {
  return fmt::format("({:.0f}, {:.0f}) px", tag.in_photo.x(), tag.in_photo.y());
}

std::vector<PlacedTag> placed_tags(const capture::Sighting& sighting, const survey::TableView& view, Faults& faults) {
  std::map<int, std::vector<PlacedTag>> by_number;
  for (const capture::TagSighting& t : sighting.tags) {
    PlacedTag tag{t.number, Vec2::Zero(), Vec2::Zero()};
    for (const Vec2& c : t.corners_in_photo) {
      tag.in_photo += 0.25 * c;
      tag.on_table += 0.25 * view.table_from_photo(c, 0);
    }
    by_number[t.number].push_back(tag);
  }
  std::vector<PlacedTag> tags;
  for (const auto& [number, places] : by_number) {
    if (places.size() == 1) {
      tags.push_back(places.front());
      continue;
    }
    faults.push_back(warning("tag-seen-twice",
                             fmt::format("tag {} lies in this photo at {} and at {}, so it names no panel", number,
                                         place(places[0]), place(places[1])),
                             "Use each number once: take one of the two away and photograph again.", sighting));
  }
  return tags;
}

/// Panels by distance from a tag, nearest first.
std::vector<Candidate> candidates(const PlacedTag& tag, const std::vector<panel::Panel*>& panels) {
  std::vector<Candidate> out;
  for (std::size_t i = 0; i < panels.size(); ++i) {
    const Polyline& outline = panels[i]->outline.points;
    out.push_back(
        {i, geometry::contains(outline, tag.on_table) ? 0 : geometry::distance_to(outline, tag.on_table, true)});
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const Candidate& a, const Candidate& b) { return a.distance < b.distance; });
  return out;
}

bool settled(const std::vector<Candidate>& near) {
  return near.size() < 2 || near[0].distance * about_equal < near[1].distance || near[0].distance == 0;
}

}  // namespace

Faults give_tags(const std::vector<panel::Panel*>& panels, const capture::Sighting& sighting,
                 const survey::TableView& view) {
  Faults faults;
  if (panels.empty()) return faults;
  std::vector<std::vector<std::pair<double, const PlacedTag*>>> given(panels.size());
  std::vector<const PlacedTag*> open;
  const std::vector<PlacedTag> tags = placed_tags(sighting, view, faults);
  for (const PlacedTag& tag : tags) {
    const std::vector<Candidate> near = candidates(tag, panels);
    if (settled(near))
      given[near[0].panel].emplace_back(near[0].distance, &tag);
    else
      open.push_back(&tag);
  }
  for (const PlacedTag* tag : open) {
    std::vector<Candidate> near = candidates(*tag, panels);
    const Candidate first = near[0], second = near[1];
    std::erase_if(near, [&](const Candidate& c) { return !given[c.panel].empty(); });
    if (!near.empty() && settled(near) && near[0].distance < about_equal * first.distance) {
      given[near[0].panel].emplace_back(near[0].distance, tag);
      continue;
    }
    faults.push_back(warning("tag-between-panels",
                             fmt::format("tag {} at {} lies {:.0f} mm from one panel and {:.0f} mm from another, so it "
                                         "names neither",
                                         tag->number, place(*tag), first.distance, second.distance),
                             "Lay the tag close beside its own panel, or on it, and photograph again.", sighting));
  }
  for (std::size_t i = 0; i < panels.size(); ++i) {
    auto& own = given[i];
    if (own.empty()) continue;
    std::stable_sort(own.begin(), own.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
    panels[i]->tag = own[0].second->number;
    if (own.size() < 2) continue;
    faults.push_back(warning("two-tags",
                             fmt::format("tags {} at {} and {} at {} lie nearest to the same panel; the nearer, {}, "
                                         "names it",
                                         own[0].second->number, place(*own[0].second), own[1].second->number,
                                         place(*own[1].second), own[0].second->number),
                             "Is a panel missing from the picture? Lay each tag beside its own panel.", sighting));
  }
  return faults;
}

}  // namespace chalkfold::trace
