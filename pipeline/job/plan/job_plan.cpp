// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/plan/job_plan.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>

namespace chalkfold::job {
namespace {
namespace fs = std::filesystem;

fs::path real(const fs::path& file) {
  std::error_code error;
  const fs::path path = fs::weakly_canonical(file, error);
  return error ? file : path;
}

std::string ranked(const std::string& name, const std::vector<std::size_t>& photos, std::size_t photo) {
  const auto rank = std::find(photos.begin(), photos.end(), photo) - photos.begin();
  return rank == 0 ? name : fmt::format("{}-{}", name, rank + 1);
}

bool shows(const std::vector<std::size_t>& photos, std::size_t photo) {
  return std::find(photos.begin(), photos.end(), photo) != photos.end();
}

}  // namespace

JobPlan::JobPlan(const JobFile& job, const std::vector<fs::path>& photos, const std::vector<std::vector<int>>& tags,
                 const PanelNames& names)
    : job_(job), names_(names), by_tag_(job.panels.size()), by_photo_(job.panels.size()), shown_(job.panels.size()) {
  for (std::size_t p = 0; p < photos.size(); ++p)
    for (std::size_t j = 0; j < job.panels.size(); ++j) {
      const JobPanel& panel = job.panels[j];
      const bool tagged = panel.tag && std::find(tags[p].begin(), tags[p].end(), *panel.tag) != tags[p].end();
      if (tagged) by_tag_[j].push_back(p);
      const bool listed = std::any_of(panel.photos.begin(), panel.photos.end(),
                                      [&](const fs::path& f) { return real(f) == real(photos[p]); });
      if (listed) by_photo_[j].push_back(p);
      if (tagged || listed) shown_[j].push_back(p);
    }
}

JobPlan::Place JobPlan::place(std::size_t photo, std::size_t index, const std::optional<int>& tag,
                              std::size_t unknown_before) const {
  for (std::size_t j = 0; j < job_.panels.size(); ++j)
    if (tag && job_.panels[j].tag == tag) return {ranked(job_.panels[j].name, shown_[j], photo), &job_.panels[j]};
  std::vector<std::size_t> listed;  // those that no tag in this photo stands for
  for (std::size_t j = 0; j < job_.panels.size(); ++j)
    if (shows(by_photo_[j], photo) && !shows(by_tag_[j], photo)) listed.push_back(j);
  if (listed.size() == 1 && unknown_before == 0)
    return {ranked(job_.panels[listed[0]].name, shown_[listed[0]], photo), &job_.panels[listed[0]]};
  std::string name = names_.name(photo, index);
  while (panel_of(job_, name)) name += " (other)";
  return {name, nullptr};
}

bool JobPlan::in_several_photos(const JobPanel& panel) const {
  return shown_[static_cast<std::size_t>(&panel - job_.panels.data())].size() > 1;
}

std::vector<const JobPanel*> JobPlan::expected(std::size_t photo) const {
  std::vector<const JobPanel*> panels;
  for (std::size_t j = 0; j < job_.panels.size(); ++j)
    if (shows(shown_[j], photo)) panels.push_back(&job_.panels[j]);
  return panels;
}

bool JobPlan::shows_material(std::size_t photo) const {
  const auto panels = expected(photo);
  return std::any_of(panels.begin(), panels.end(),
                     [](const JobPanel* p) { return p->kind != panel::PanelKind::panel; });
}

std::optional<double> JobPlan::thickness(std::size_t photo) const {
  for (const JobPanel* panel : expected(photo))
    if (panel->own.thickness) return panel->own.thickness;
  return job_.defaults.thickness;
}

Faults JobPlan::faults_of(std::size_t photo) const {
  const std::optional<double> taken = thickness(photo);
  for (const JobPanel* panel : expected(photo)) {
    const std::optional<double> own = panel->own.thickness ? panel->own.thickness : job_.defaults.thickness;
    if (own == taken) continue;
    return {{"thicknesses-differ",
             Severity::warning,
             fmt::format("the job gives {:g} mm for {}, but {:g} mm was taken for all panels in this photo",
                         own.value_or(0), panel->name, taken.value_or(0)),
             "Photograph panels of another thickness apart.",
             {},
             {}}};
  }
  return {};
}

std::vector<survey::PhotoSaid> said_of(const JobFile& job, const std::vector<fs::path>& photos) {
  std::map<fs::path, survey::PhotoSaid> known;
  for (const auto& [file, said] : job.said) known.emplace(real(file), said);
  std::vector<survey::PhotoSaid> all;
  for (const fs::path& photo : photos) {
    const auto said = known.find(real(photo));
    all.push_back(said == known.end() ? survey::PhotoSaid{} : said->second);
    if (all.back().phone.empty()) all.back().phone = job.phone;
  }
  return all;
}

const JobPanel* panel_of(const JobFile& job, const std::string& measured_name) {
  const std::string seen = lower_case(measured_name);
  for (const JobPanel& panel : job.panels)
    if (seen == lower_case(panel.name)) return &panel;
  for (const JobPanel& panel : job.panels) {
    const std::string own = lower_case(panel.name);
    const bool numbered = seen.size() > own.size() + 1 && seen.starts_with(own + "-") &&
                          std::all_of(seen.begin() + static_cast<std::ptrdiff_t>(own.size()) + 1, seen.end(),
                                      [](char c) { return c >= '0' && c <= '9'; });
    if (numbered) return &panel;
  }
  return nullptr;
}

}  // namespace chalkfold::job
