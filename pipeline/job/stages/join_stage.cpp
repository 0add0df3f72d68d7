// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/stages/join_stage.h"

#include <fmt/format.h>

#include <algorithm>

#include "pipeline/common/error.h"
#include "pipeline/job/files/panel_files.h"
#include "pipeline/job/stages/join_cluster.h"

namespace chalkfold::job {
namespace {

using Joined = KeptJoin;

/// Everything that a cluster's result depends on; empty when nothing is kept.
std::string key_of(const std::vector<PhotoTask>& tasks, const survey::Survey& survey, const RunContext& context,
                   const PanelCluster& cluster) {
  std::vector<std::string> parts;
  std::vector<std::size_t> sightings;
  const auto name_of = [](const JobPanel* panel) { return panel ? panel->name : std::string(); };
  for (const WaitingAt& at : cluster.members) {
    const PhotoTask& task = tasks[at.task];
    if (task.trace_key.empty()) return {};
    const WaitingPanel& w = task.waiting[at.index];
    const int setup = survey.setup_of_sighting[task.index];
    parts.insert(parts.end(), {task.trace_key, std::to_string(at.task), std::to_string(at.index), std::to_string(setup),
                               w.name, trace_options_json(w.trace).dump()});
    sightings.push_back(task.index);
  }
  parts.push_back(name_of(cluster.of));
  if (cluster.of) {
    const auto side = cluster.of->own.side ? cluster.of->own.side : context.options.job->defaults.side;
    parts.push_back(panel::to_string(cluster.of->kind) + (side ? std::to_string(static_cast<int>(*side)) : ""));
  }
  for (const JobPanel* other : cluster.also) parts.push_back(name_of(other));
  const Eigen::MatrixXd joint = survey::joint_covariance(survey, sightings);
  parts.emplace_back(reinterpret_cast<const char*>(joint.data()),
                     sizeof(double) * static_cast<std::size_t>(joint.size()));
  return context.kept.key("join", parts);
}

/// Writes again what an earlier run made of the cluster; false when its pictures are no longer there as they were.
bool write_kept(const RunContext& context, Joined& kept) {
  const auto write = [&](output::PanelRecord& record) {
    if (!output::is_measured(record) || record.picture.empty()) return true;
    KeptPictures pictures{{}, record.picture, record.crops};
    const auto take = [&](const std::string& place) {
      const auto file =
          std::find_if(kept.pictures.begin(), kept.pictures.end(), [&](const KeptFile& f) { return f.place == place; });
      pictures.files.push_back(file == kept.pictures.end() ? KeptFile{place, ""} : *file);
    };
    take(record.picture);
    for (const output::CropRecord& crop : record.crops) take(crop.picture);
    return write_with_kept_pictures(context.options.out, record, pictures);
  };
  if (kept.record && !write(*kept.record)) return false;
  return std::all_of(kept.single.begin(), kept.single.end(), [&](auto& single) { return write(single.second); });
}

/// Adds the checksums of its pictures, so that a later run knows them again.
void note_pictures(const RunContext& context, Joined& joined) {
  const auto note = [&](const output::PanelRecord& record) {
    if (record.picture.empty()) return;
    for (KeptFile& file : kept_pictures(context.options.out, record).files) joined.pictures.push_back(std::move(file));
  };
  if (joined.record) note(*joined.record);
  for (const auto& [task, record] : joined.single) note(record);
}

/// One cluster, so that nothing in it stops the run but what concerns the whole of it.
Joined joined_or_refused(const std::vector<PhotoTask>& tasks, const survey::Survey& survey, const RunContext& context,
                         const PanelCluster& cluster) {
  try {
    const std::string key = key_of(tasks, survey, context, cluster);
    if (const auto bytes = key.empty() ? std::nullopt : context.kept.find(key)) {
      Joined kept = joined_from(*bytes);
      if (write_kept(context, kept)) return kept;
    }
    Joined joined = join_cluster(tasks, survey, context, cluster);
    // A photo that could not be read this once may be read the next time.
    const bool by_chance = std::any_of(joined.faults.begin(), joined.faults.end(),
                                       [](const auto& of_task) { return passes(of_task.second); });
    if (key.empty() || by_chance) return joined;
    note_pictures(context, joined);
    context.kept.keep(key, bytes_of(joined));
    return joined;
  } catch (const UserError&) {
    throw;
  } catch (const std::exception& error) {
    Joined out;
    const std::size_t task = cluster.members.front().task;
    out.faults.emplace_back(task,
                            Fault{"photo-failed",
                                  Severity::refusal,
                                  fmt::format("the program failed while its photos were joined: {}", error.what()),
                                  "Photograph the panel again. Please report this fault with the photos.",
                                  tasks[task].name,
                                  {}});
    return out;
  }
}

}  // namespace

void join_panels(std::vector<PhotoTask>& tasks, const survey::Survey& survey, RunContext& context,
                 const ForEach& for_each) {
  const std::vector<PanelCluster> clusters = cluster_panels(tasks, survey);
  std::vector<Joined> joined(clusters.size());
  for_each(clusters.size(), [&](std::size_t i) {
    joined[i] = joined_or_refused(tasks, survey, context, clusters[i]);
    const WaitingAt& first = clusters[i].members.front();
    return clusters[i].of ? clusters[i].of->name : tasks[first.task].waiting[first.index].name;
  });
  for (Joined& j : joined) {
    for (auto& [task, fault] : j.faults) tasks[task].record.faults.push_back(std::move(fault));
    for (auto& [task, record] : j.single) {
      tasks[task].record.panels.push_back(record.panel.name);
      tasks[task].panels.push_back(std::move(record));
    }
    if (!j.record) continue;
    if (output::is_measured(*j.record))
      for (const std::size_t task : j.tasks) tasks[task].record.panels.push_back(j.record->panel.name);
    tasks[j.tasks.front()].panels.push_back(std::move(*j.record));
  }
}

}  // namespace chalkfold::job
