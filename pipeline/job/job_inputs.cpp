// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/job_inputs.h"

#include <fmt/format.h>

#include <algorithm>

#include "pipeline/common/error.h"
#include "pipeline/common/utf8.h"
#include "pipeline/job/files/write_files.h"

namespace chalkfold::job {
namespace {
namespace fs = std::filesystem;

void take_job(const JobFile& job, RunOptions& options) {
  options.photos.insert(options.photos.end(), job.photos.begin(), job.photos.end());
  options.measured.insert(options.measured.end(), job.measured.begin(), job.measured.end());
  options.survey.tape.insert(options.survey.tape.end(), job.tape.begin(), job.tape.end());
  if (!job.lens.empty() && !options.survey.lens.profile)
    options.survey.lens.profile = calib::read_lens_profile(read_named_file(job.lens), plain_text(job.lens.string()));
  survey::PrintCheck& print = options.survey.print;
  if (!print.long_bar_mm && !print.short_bar_mm) {
    print.long_bar_mm = job.print.long_bar_mm;
    print.short_bar_mm = job.print.short_bar_mm;
    print.sigma_mm = job.print.sigma_mm;
  }
}

/// Those of the run's photos that a panel was measured in.
std::vector<fs::path> photos_of(const output::PanelRecord& record, const std::vector<fs::path>& photos) {
  std::vector<fs::path> found;
  for (const std::string& name : output::photo_names(record)) {
    const auto photo = std::find_if(photos.begin(), photos.end(), [&](const fs::path& file) {
      return file.filename().string() == name || file.generic_string() == name;
    });
    if (photo != photos.end()) found.push_back(*photo);
  }
  return found;
}

/// A path as it is written in a job file in that folder.
std::string from_folder(const fs::path& file, const fs::path& folder) {
  const fs::path whole = fs::absolute(file).lexically_normal(),
                 base = fs::absolute(folder.empty() ? fs::path(".") : folder).lexically_normal(),
                 relative = whole.lexically_relative(base);
  return (relative.empty() ? whole : relative).generic_string();
}

}  // namespace

void add_json_input(const fs::path& file, RunOptions& options) {
  const std::string bytes = read_named_file(file), where = plain_text(file.string());
  const auto json = nlohmann::json::parse(bytes, nullptr, false, true);
  // A measured file that was cut short is no JSON either: it is told by its first words.
  const bool measured =
      json.is_object() ? json.contains("schema") : bytes.substr(0, 200).find("\"schema\"") != std::string::npos;
  if (measured) {
    options.measured.push_back(file);
    return;
  }
  if (options.job)
    throw UsageError(fmt::format("{}: a run takes one job file, and another was named before it", where));
  options.job = read_job_file(bytes, where, file.parent_path());
  take_job(*options.job, options);
}

std::string first_job_file(const output::Results& results, const RunOptions& options, const fs::path& job_folder) {
  const auto quoted = [](const std::string& text) {
    return nlohmann::json(plain_text(text)).dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
  };
  std::string out =
      "{\n  // Edit what differs from panel to panel. Any of the defaults may stand in a panel as well.\n  \"job\": "
      "\"\",\n";
  const survey::PrintCheck& print = options.survey.print;
  if (print.long_bar_mm && print.short_bar_mm)
    out += fmt::format("  \"print\": {{\"long_bar_mm\": {:g}, \"short_bar_mm\": {:g}, \"sigma_mm\": {:g}}},\n",
                       *print.long_bar_mm, *print.short_bar_mm, print.sigma_mm);
  else
    out += "  // \"print\": {\"long_bar_mm\": 240, \"short_bar_mm\": 170},   what a steel rule says\n";
  const draft::DraftOptions draft = effective_draft(options);
  out += fmt::format(
      "  \"defaults\": {{\"side\": \"{}\", \"thickness_mm\": {:g}, \"symmetric\": \"auto\", \"fold\": \"mean\", "
      "\"allowance_mm\": {:g}, \"quantity\": {}}},\n  \"panels\": [",
      draft.side == draft::Side::inside ? "inside" : "face", options.thickness.value_or(options.assumed_thickness),
      draft.allowance, draft.quantity);
  bool first = true;
  for (const output::PanelRecord& record : results.panels) {
    out += fmt::format("{}\n    {{\"name\": {}", first ? "" : ",", quoted(record.panel.name));
    first = false;
    if (panel::is_material(record.panel)) out += fmt::format(", \"kind\": \"{}\"", panel::to_string(record.panel.kind));
    if (record.panel.tag) out += fmt::format(", \"tag\": {}", *record.panel.tag);
    const std::vector<fs::path> photos = photos_of(record, options.photos);
    for (std::size_t i = 0; i < photos.size(); ++i)
      out += fmt::format("{}{}", i == 0 ? ", \"photos\": [" : ", ", quoted(from_folder(photos[i], job_folder)));
    if (!photos.empty()) out += "]";
    out += "}";
  }
  return out + "\n  ]\n}\n";
}

}  // namespace chalkfold::job
