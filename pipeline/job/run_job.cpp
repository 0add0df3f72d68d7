// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/run_job.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <opencv2/core/utility.hpp>

#include "pipeline/common/error.h"
#include "pipeline/common/utf8.h"
#include "pipeline/common/write_file.h"
#include "pipeline/job/files/panel_files.h"
#include "pipeline/job/files/run_lock.h"
#include "pipeline/job/stages/compare_stage.h"
#include "pipeline/job/stages/draft_stage.h"
#include "pipeline/job/stages/join_stage.h"
#include "pipeline/job/stages/material_stage.h"
#include "pipeline/job/stages/photo_task.h"
#include "pipeline/job/stages/set_stage.h"
#include "pipeline/job/stages/side_by_side.h"
#include "pipeline/output/report/report.h"

namespace chalkfold::job {

namespace {
namespace fs = std::filesystem;

/// Photos run side by side; inside one photo OpenCV must not start threads of its own. Set back when the run is over.
class OneOpenCvThread {
 public:
  OneOpenCvThread() : before_(cv::getNumThreads()) { cv::setNumThreads(1); }
  ~OneOpenCvThread() { cv::setNumThreads(before_); }
  OneOpenCvThread(const OneOpenCvThread&) = delete;
  OneOpenCvThread& operator=(const OneOpenCvThread&) = delete;

 private:
  int before_;
};

/// Leaves the run when the user asked for it; the work of each stretch has left out what was not begun by then.
void stop_if_wanted(const Progress& progress, std::size_t done, std::size_t total) {
  if (!progress.stop_wanted()) return;
  throw Interrupted(fmt::format(
      "stopped: {} of {} photos are measured. What is done is kept: the same command goes on from here.", done, total));
}

std::size_t finished(const std::vector<PhotoTask>& tasks) {
  return static_cast<std::size_t>(std::count_if(tasks.begin(), tasks.end(), [](const PhotoTask& t) { return t.done; }));
}

/// The photos to measure, each once, in the order given.
std::vector<fs::path> photos_once(const RunOptions& options, Faults& faults) {
  std::vector<fs::path> photos;
  std::set<fs::path> seen;
  for (const fs::path& file : options.photos) {
    std::error_code error;
    const fs::path real = fs::weakly_canonical(file, error);
    if (seen.insert(error ? file : real).second) {
      photos.push_back(file);
    } else {
      faults.push_back({"photo-given-twice",
                        Severity::note,
                        fmt::format("{} was named more than once", plain_text(file.string())),
                        "Nothing: it was measured once.",
                        {},
                        {}});
    }
  }
  return photos;
}

/// Nothing at all to read is the user's slip, not a refused photo: nothing is written then.
void require_a_file(const std::vector<fs::path>& photos) {
  std::string why;
  for (const fs::path& file : photos) {
    std::error_code error;
    const fs::file_status status = fs::status(file, error);
    if (fs::exists(status) && !fs::is_directory(status)) return;
    const char* reason = fs::is_directory(status) ? "is a folder: name the photos in it, FOLDER/*.jpg"
                                                  : "there is no such file: check the name and the folder";
    why += fmt::format("{}{}: {}", why.empty() ? "" : "\n", plain_text(file.string()), reason);
  }
  throw FileError(why);
}

std::vector<PhotoTask> tasks_for(const std::vector<fs::path>& photos) {
  std::map<std::string, int> uses;
  for (const fs::path& file : photos) ++uses[file.filename().string()];
  std::vector<PhotoTask> tasks(photos.size());
  for (std::size_t i = 0; i < photos.size(); ++i) {
    const std::string name = photos[i].filename().string();
    tasks[i].file = photos[i];
    tasks[i].index = i;
    tasks[i].name = plain_text(uses[name] > 1 ? photos[i].generic_string() : name);
  }
  return tasks;
}

/// Whether the job gives a thickness for every panel of its own.
bool thickness_in_job(const RunOptions& options) {
  if (!options.job) return false;
  const auto& panels = options.job->panels;
  return options.job->defaults.thickness ||
         (!panels.empty() &&
          std::all_of(panels.begin(), panels.end(), [](const JobPanel& p) { return p.own.thickness.has_value(); }));
}

void add_thickness_fault(const RunOptions& options, Faults& faults) {
  if (options.thickness || options.photos.empty() || thickness_in_job(options)) return;
  faults.push_back(
      {"thickness-assumed",
       Severity::note,
       fmt::format("the thickness of the panels was not given; {:.1f} mm was taken, with sigma {:.1f} mm",
                   options.assumed_thickness, effective_trace(options).thickness_sigma),
       "Measure how thick the panels lie and give it, thickness_mm in the job or --thickness-mm: U becomes smaller.",
       {},
       {}});
}

void add_older_files_fault(const RunOptions& options, output::Results& results) {
  std::set<std::string> written;
  for (const output::PanelRecord& record : results.panels) written.insert(record.files.begin(), record.files.end());
  for (const output::PieceRecord& record : results.pieces) written.insert(record.files.begin(), record.files.end());
  for (const output::MaterialRecord& record : results.materials) written.insert(record.picture);
  if (results.set) add_written(*results.set, written);
  const std::set<std::string> older = older_files(options.out, written);
  if (older.empty()) return;
  results.faults.push_back({"older-files",
                            Severity::note,
                            fmt::format("{} files from another run lie among these results, the first is {}",
                                        older.size(), plain_text(*older.begin())),
                            "Do not cut from them by mistake; delete them or choose another folder.",
                            {},
                            {}});
}

void take_run_results(const survey::Survey& survey, const std::vector<PhotoTask>& tasks, output::Results& results) {
  results.lenses = survey.lenses;
  results.print_scale_x = survey.print_scale_x;
  results.print_scale_y = survey.print_scale_y;
  results.print_scale_sigma = survey.print_scale_sigma;
  results.reprojection_rms_px = survey.reprojection_rms_px;
  for (const Fault& fault : survey.faults) {
    const bool of_a_photo =
        std::any_of(tasks.begin(), tasks.end(), [&](const PhotoTask& task) { return task.name == fault.photo; });
    if (!of_a_photo) results.faults.push_back(fault);
  }
}

/// One picture under two names would count twice: in the survey, and in what is joined.
void set_copies_aside(std::vector<PhotoTask>& tasks) {
  std::map<std::string, const PhotoTask*> first;
  for (PhotoTask& task : tasks) {
    if (task.record.sha256.empty()) continue;
    const auto [known, fresh] = first.emplace(task.record.sha256, &task);
    if (fresh) continue;
    task.copy = true;
    task.kept.reset();
    task.record.faults.push_back({"photo-given-twice",
                                  Severity::note,
                                  fmt::format("it is the same picture as {}", known->second->name),
                                  "Nothing: it was measured once.",
                                  task.name,
                                  {}});
  }
}

survey::Survey survey_of(std::vector<PhotoTask>& tasks, const RunOptions& options, const std::vector<fs::path>& photos,
                         const Stages& stages) {
  std::vector<capture::Sighting> sightings;
  sightings.reserve(tasks.size());
  for (const PhotoTask& task : tasks) {
    sightings.push_back(task.sighting);
    if (task.copy) sightings.back().sheets.clear();
  }
  survey::SurveyOptions survey_options = options.survey;
  if (options.job) survey_options.said = said_of(*options.job, photos);
  survey::Survey survey = stages.solve_survey(sightings, survey_options);
  for (PhotoTask& task : tasks) take_survey(task, survey);
  return survey;
}

void collect(std::vector<PhotoTask>& tasks, output::Results& results) {
  for (PhotoTask& task : tasks) {
    results.photos.push_back(std::move(task.record));
    for (output::PanelRecord& record : task.panels) results.panels.push_back(std::move(record));
  }
}

std::vector<std::vector<int>> tags_of(const std::vector<PhotoTask>& tasks) {
  std::vector<std::vector<int>> tags;
  tags.reserve(tasks.size());
  for (const PhotoTask& task : tasks) tags.push_back(task.record.tags);
  return tags;
}

void measure_photos(const RunOptions& options, const std::vector<fs::path>& photos, Progress& progress,
                    const Stages& stages, KeptState& kept, output::Results& results) {
  const OneOpenCvThread one_thread;
  const PanelNames names(photos);
  // Photos kept between the passes have a room of their own, so that they never keep the others out.
  const double keep_mb = std::min(options.keep_pixels_mb, 0.25 * options.memory_mb);
  PixelGate gate(static_cast<long long>((options.memory_mb - keep_mb) * 1e6));
  RunContext context{options, stages, names, effective_trace(options), kept, gate};
  context.pixel_bytes_left = static_cast<long long>(keep_mb * 1e6);
  std::vector<PhotoTask> tasks = tasks_for(photos);
  const int threads = threads_in_force(options);
  {
    Stretch stretch(progress, "reading photos", tasks.size());
    for_each_number(tasks.size(), threads, [&](std::size_t i) {
      PhotoTask& task = tasks[i];
      if (progress.stop_wanted()) return;
      read_photo(task, context);
      stretch.advance(task.name);
    });
  }
  stop_if_wanted(progress, 0, tasks.size());
  set_copies_aside(tasks);
  const survey::Survey survey = survey_of(tasks, options, photos, stages);
  std::optional<JobPlan> plan;
  if (options.job) plan.emplace(*options.job, photos, tags_of(tasks), names);
  context.plan = plan ? &*plan : nullptr;
  {
    Stretch stretch(progress, "measuring panels", tasks.size());
    for_each_number(tasks.size(), threads, [&](std::size_t i) {
      PhotoTask& task = tasks[i];
      if (progress.stop_wanted()) return;
      measure_photo(task, survey.views.at(task.index), context);
      task.done = true;
      stretch.advance(task.name);
    });
  }
  stop_if_wanted(progress, finished(tasks), tasks.size());
  join_panels(tasks, survey, context, [&](std::size_t count, const std::function<std::string(std::size_t)>& work) {
    if (count == 0) return;
    Stretch stretch(progress, "joining photos", count);
    for_each_number(count, threads, [&](std::size_t i) {
      if (progress.stop_wanted()) return;
      stretch.advance(work(i));
    });
  });
  stop_if_wanted(progress, finished(tasks), tasks.size());
  take_run_results(survey, tasks, results);
  collect(tasks, results);
}

ExitCode exit_of(const output::Results& results) {
  const bool any = std::any_of(results.panels.begin(), results.panels.end(), output::is_measured);
  return any && !has_refusal(output::all_faults(results)) ? ExitCode::all_measured : ExitCode::some_refused;
}
}  // namespace

output::Results run_job(const RunOptions& options, Progress& progress, const Stages& stages) {
  check(options);
  output::Results results;
  results.options = options_json(options);
  const std::vector<fs::path> photos = photos_once(options, results.faults);
  if (!photos.empty()) require_a_file(photos);
  std::vector<output::PanelRecord> measured = read_measured(options);
  const JobReferences references = read_references(options);
  const RunLock lock(options.out);
  remove_stale_temporaries(options.out);
  make_output_folders(options.out);
  KeptState kept(options.out, stages.maker, options.fresh);
  if (!options.stage_pictures.empty()) make_folder(options.stage_pictures);
  add_thickness_fault(options, results.faults);

  if (!photos.empty()) measure_photos(options, photos, progress, stages, kept, results);
  take_measured(std::move(measured), results);
  compare_panels(references, options, results);
  draft_pieces(options, progress, results);
  sew_set(options, results);
  plan_material(options, results);
  add_older_files_fault(options, results);
  results.exit = static_cast<int>(exit_of(results));
  write_file_atomically(options.out / "results.json", output::results_json(results));
  write_file_atomically(options.out / "report.html", output::report_html(results, output::footer_time()));
  if (!photos.empty()) kept.forget_others();
  return results;
}

}  // namespace chalkfold::job
