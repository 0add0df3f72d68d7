// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/stages/photo_task.h"

#include <fmt/format.h>

#include <algorithm>
#include <memory>
#include <new>

#include "pipeline/common/error.h"
#include "pipeline/common/write_file.h"
#include "pipeline/job/files/panel_files.h"
#include "pipeline/job/files/state_archive.h"
#include "pipeline/job/plan/panel_kind.h"
#include "pipeline/output/pictures/pictures.h"

namespace chalkfold::job {

namespace {
void add_faults(PhotoTask& task, const Faults& faults) {
  for (Fault fault : faults) {
    fault.photo = task.name;
    task.record.faults.push_back(fault);
  }
}

void refuse(PhotoTask& task, const std::string& code, const std::string& seen, const std::string& remedy) {
  add_faults(task, {{code, Severity::refusal, seen, remedy, {}, {}}});
}

/// Runs one photo's work so that it cannot stop the batch; only what concerns the whole run (a full disk) goes through.
template <class Work>
void guarded(PhotoTask& task, const char* doing, Work&& work) {
  try {
    work();
  } catch (const UserError&) {
    throw;
  } catch (const std::bad_alloc&) {
    refuse(task, "photo-failed", fmt::format("memory ran out while {}", doing),
           "Run fewer photos at a time with --threads 1, or close other programs.");
  } catch (const std::exception& error) {
    refuse(task, "photo-failed", fmt::format("the program failed while {}: {}", doing, error.what()),
           "Photograph the panel again. Please report this fault with the photo.");
  }
}

/// Whether this photo's pixels fit in what is left of the budget; takes them off it when they do. What is kept changes
/// no result, only time.
bool take_budget(RunContext& context, const cv::Mat& pixels) {
  const auto bytes = static_cast<long long>(pixels.total()) * static_cast<long long>(pixels.elemSize());
  if (context.pixel_bytes_left.fetch_sub(bytes) >= bytes) return true;
  context.pixel_bytes_left.fetch_add(bytes);
  return false;
}

void record_photo(output::PhotoRecord& record, const capture::Photo& photo) {
  record.sha256 = photo.sha256;
  record.make = photo.exif.make;
  record.model = photo.exif.model;
  record.focal_mm = photo.exif.focal_mm;
  record.focal_35mm = photo.exif.focal_35mm;
  record.digital_zoom = photo.exif.digital_zoom;
  record.orientation = photo.exif.orientation;
  record.width = photo.bgr.cols;
  record.height = photo.bgr.rows;
  record.intact = photo.intact;
}

void record_sheets(output::PhotoRecord& record, const capture::Sighting& sighting) {
  for (const capture::SheetSighting& sheet : sighting.sheets) {
    record.sheets.push_back({sheet.number, static_cast<int>(sheet.corners.size()), sheet.dropped, sheet.outside,
                             sheet.blur_px, sheet.square_px});
  }
  for (const capture::TagSighting& tag : sighting.tags) record.tags.push_back(tag.number);
}

/// The photo of the second pass, read when it is first asked for: an earlier run may have left nothing to do.
class SecondReading {
 public:
  SecondReading(PhotoTask& task, RunContext& context) : task_(task), context_(context) {}

  /// Null when the file has become another one since the first pass; the task carries the refusal then.
  const capture::Photo* photo() {
    if (asked_) return photo_ ? &*photo_ : nullptr;
    asked_ = true;
    if (task_.kept) {
      photo_ = std::exchange(task_.kept, std::nullopt);
    } else {
      pass_ = std::make_unique<PixelGate::Pass>(context_.gate, task_.pixel_bytes);
      Faults faults;
      photo_ = photo_again(task_, context_, faults);
      add_faults(task_, faults);
    }
    return photo_ ? &*photo_ : nullptr;
  }

 private:
  PhotoTask& task_;
  RunContext& context_;
  std::unique_ptr<PixelGate::Pass> pass_;
  std::optional<capture::Photo> photo_;
  bool asked_ = false;
};

trace::StagePicture stage_picture_writer(const PhotoTask& task, const RunContext& context) {
  if (context.options.stage_pictures.empty()) return {};
  const std::filesystem::path folder = context.options.stage_pictures;
  const std::string base = context.names.base(task.index);
  return [folder, base](const std::string& stage, const cv::Mat& picture) {
    write_file_atomically(folder / (safe_name(base + "-" + stage) + ".png"), output::png_of(picture));
  };
}

/// Trace options of this photo: the job may know how thick its panels are. The command line goes before the job.
trace::TraceOptions trace_options(const PhotoTask& task, const RunContext& context) {
  trace::TraceOptions trace = context.trace;
  trace.rings = context.plan && context.plan->shows_material(task.index);
  if (!context.plan || context.options.thickness) return trace;
  if (const auto thickness = context.plan->thickness(task.index)) {
    trace.thickness = *thickness;
    trace.thickness_sigma = context.options.thickness_sigma.value_or(trace::TraceOptions{}.thickness_sigma);
  }
  return trace;
}

/// Where a traced panel belongs.
struct Named {
  std::string name;
  const JobPanel* of = nullptr;
  bool by_tag = false;
};

/// `index`: of the traced panel in its photo, parts after the whole ones.
Named name_of(PhotoTask& task, const panel::Panel& panel, std::size_t index, const RunContext& context) {
  if (!context.plan) return {context.names.name(task.index, index), nullptr, false};
  const JobPlan::Place place = context.plan->place(task.index, index, panel.tag, task.unknown);
  const bool by_tag = place.panel && panel.tag && place.panel->tag == panel.tag;
  if (!by_tag) ++task.unknown;
  return {place.name, place.panel, by_tag};
}

/// Writes the files of a panel of its own, unless it carries a refusal. `pictures_key`: under which its pictures are kept, or empty.
void finish_panel(PhotoTask& task, panel::Panel panel, SecondReading& reading, const survey::TableView& view,
                  const trace::TraceOptions& trace, const std::string& pictures_key, RunContext& context) {
  name_faults(panel);
  output::PanelRecord record;
  record.panel = std::move(panel);
  record.thickness_sigma = trace.thickness_sigma;
  if (output::is_measured(record)) {
    const auto kept = pictures_key.empty() ? std::nullopt : context.kept.find(pictures_key);
    if (!kept || !write_with_kept_pictures(context.options.out, record, pictures_from(*kept))) {
      const capture::Photo* photo = reading.photo();
      if (!photo) return;
      write_panel(context.options.out, record, *photo, view, trace.face_height());
      if (!pictures_key.empty()) context.kept.keep(pictures_key, bytes_of(kept_pictures(context.options.out, record)));
    }
    task.record.panels.push_back(record.panel.name);
  }
  task.panels.push_back(std::move(record));
}

const JobFile* job_of(const RunContext& context) { return context.options.job ? &*context.options.job : nullptr; }

/// Finishes what no other photo has to do with and lets the rest wait.
void take_traced(PhotoTask& task, trace::TraceResult traced, SecondReading& reading, const survey::TableView& view,
                 const trace::TraceOptions& trace, RunContext& context) {
  std::size_t index = 0;
  for (panel::Panel& panel : traced.panels) {
    const Named named = name_of(task, panel, index++, context);
    panel.name = named.name;
    panel.photo = task.name;
    take_kind(panel, named.of, job_of(context));
    if (named.of && context.plan->in_several_photos(*named.of) && !has_refusal(panel.faults)) {
      task.waiting.push_back({{std::move(panel), {}, {}}, true, trace, named.name, named.of, named.by_tag});
      continue;
    }
    const std::string key = task.trace_key.empty()
                                ? ""
                                : context.kept.key("pictures", {task.trace_key, named.name, std::to_string(index),
                                                                panel::to_string(panel.kind)});
    finish_panel(task, std::move(panel), reading, view, trace, key, context);
  }
  // The largest first: what a job expects is no scrap at the picture's border.
  std::stable_sort(traced.parts.begin(), traced.parts.end(),
                   [](const trace::PanelPart& a, const trace::PanelPart& b) { return a.panel.area > b.panel.area; });
  for (trace::PanelPart& part : traced.parts) {
    const Named named = name_of(task, part.panel, index++, context);
    part.panel.photo = task.name;
    task.waiting.push_back({std::move(part), false, trace, named.name, named.of, named.by_tag});
  }
}

/// Under what its reading is kept; empty when nothing is.
std::string reading_key(const PhotoTask& task, const capture::PhotoPeek& peek, const RunContext& context) {
  if (!context.kept.keeps()) return {};
  const auto options = options_json(context.options);
  return context.kept.key("reading", {peek.sha256, task.name, options["load"].dump(), options["sighting"].dump()});
}

/// Takes over what an earlier run read; false when there is nothing.
bool take_kept_reading(PhotoTask& task, RunContext& context) {
  const auto bytes = context.kept.find(task.reading_key);
  if (!bytes) return false;
  KeptReading reading = reading_from(*bytes);
  task.record = std::move(reading.record);
  task.sighting = std::move(reading.sighting);
  return true;
}

void read_and_find_sheets(PhotoTask& task, RunContext& context) {
  const PixelGate::Pass pass(context.gate, task.pixel_bytes);
  capture::LoadResult loaded = context.stages.load_photo(task.file, context.options.load);
  add_faults(task, loaded.faults);
  if (!loaded.photo) return;
  loaded.photo->name = task.name;
  record_photo(task.record, *loaded.photo);
  if (has_refusal(task.record.faults)) return;
  task.sighting = context.stages.find_sheets(*loaded.photo, context.options.sighting);
  add_faults(task, task.sighting.faults);
  record_sheets(task.record, task.sighting);
  if (!has_refusal(task.record.faults) && take_budget(context, loaded.photo->bgr)) task.kept = std::move(loaded.photo);
}
}  // namespace

void read_photo(PhotoTask& task, RunContext& context) {
  task.record.name = task.name;
  guarded(task, "the photo was read", [&] {
    const auto peek =
        context.stages.peek_photo ? context.stages.peek_photo(task.file, context.options.load) : std::nullopt;
    if (peek) {
      task.pixel_bytes = peek->pixel_bytes;
      task.reading_key = reading_key(task, *peek, context);
    }
    // Asked even when nothing need be read now: its pictures may have to be made again.
    if (!context.gate.fits(task.pixel_bytes)) {
      refuse(task, "photo-over-memory",
             fmt::format("its pixels take {:.0f} MB, more than is allowed for all photos in work",
                         static_cast<double>(task.pixel_bytes) / 1e6),
             "Allow more with --memory-mb, or export the photo smaller.");
      return;
    }
    if (!task.reading_key.empty() && take_kept_reading(task, context)) return;
    read_and_find_sheets(task, context);
    // A file that changed in between is not what its key says, and memory may not run out the next time.
    const bool changed = peek && !task.record.sha256.empty() && task.record.sha256 != peek->sha256;
    const bool by_chance = std::any_of(task.record.faults.begin(), task.record.faults.end(), passes);
    if (changed || by_chance) task.reading_key.clear();
    if (!task.reading_key.empty())
      context.kept.keep(task.reading_key, bytes_of(KeptReading{task.record, task.sighting}));
  });
  // What the survey goes by: a refusal of any kind keeps the photo out of it.
  task.sighting.photo = task.name;
  task.sighting.faults = task.record.faults;
}

void take_survey(PhotoTask& task, const survey::Survey& survey) {
  for (const Fault& fault : survey.faults) {
    if (fault.photo == task.name) add_faults(task, {fault});
  }
  const std::optional<survey::TableView>& view = survey.views.at(task.index);
  if (!view) {
    if (!task.copy && !has_refusal(task.record.faults)) {
      refuse(task, "not-surveyed", "the camera's place could not be found from the sheets in this photo",
             "Photograph again with three or four whole sheets in view.");
    }
    return;
  }
  const survey::TableView::Solution& s = view->solution();
  output::CameraRecord camera;
  camera.lens = survey.phone_of_sighting.at(task.index);
  camera.setup = survey.setup_of_sighting.at(task.index);
  camera.corners_used = s.corners_used;
  camera.corners_dropped = s.corners_dropped;
  camera.reprojection_rms_px = s.reprojection_rms_px;
  camera.tilt_deg = view->tilt_deg();
  camera.height = view->camera_height();
  camera.mm_per_px = view->mm_per_px({0.5 * (s.width - 1), 0.5 * (s.height - 1)});
  task.record.camera = camera;
}

void measure_photo(PhotoTask& task, const std::optional<survey::TableView>& view, RunContext& context) {
  if (!view || task.copy || has_refusal(task.record.faults)) return;
  guarded(task, "its panels were traced", [&] {
    SecondReading reading(task, context);
    const trace::TraceOptions trace = trace_options(task, context);
    if (context.plan && !context.options.thickness) add_faults(task, context.plan->faults_of(task.index));
    const bool keeps = !task.reading_key.empty();
    // Stage pictures are made while tracing: who wants them wants it done.
    const bool takes = keeps && context.options.stage_pictures.empty();
    if (keeps)
      task.trace_key =
          context.kept.key("trace", {task.reading_key, bytes_of(view->solution()), trace_options_json(trace).dump()});
    trace::TraceResult traced;
    if (const auto kept = takes ? context.kept.find(task.trace_key) : std::nullopt) {
      traced = traced_from(*kept);
    } else {
      const capture::Photo* photo = reading.photo();
      if (!photo) return;
      traced = context.stages.trace_panels(*photo, task.sighting, *view, trace, stage_picture_writer(task, context));
      if (keeps) context.kept.keep(task.trace_key, bytes_of(traced));
    }
    add_faults(task, traced.faults);
    take_traced(task, std::move(traced), reading, *view, trace, context);
  });
}

std::optional<capture::Photo> photo_again(const PhotoTask& task, const RunContext& context, Faults& faults) {
  capture::LoadResult loaded = context.stages.load_photo(task.file, context.options.load);
  for (Fault& fault : loaded.faults) {
    // What a photo that was read the first time has to be told of was told then.
    if (fault.severity != Severity::refusal) continue;
    fault.photo = task.name;
    faults.push_back(std::move(fault));
  }
  if (!loaded.photo) return std::nullopt;
  if (loaded.photo->sha256 != task.record.sha256) {
    faults.push_back({"photo-changed",
                      Severity::refusal,
                      "the file was changed while the run was reading it",
                      "Run again once the photo is copied.",
                      task.name,
                      {}});
    return std::nullopt;
  }
  loaded.photo->name = task.name;
  return std::move(loaded.photo);
}

void name_faults(panel::Panel& panel) {
  for (Fault& fault : panel.faults) {
    fault.photo = panel.photo;
    fault.panel = panel.name;
  }
}

bool passes(const Fault& fault) {
  return fault.code == "photo-failed" || fault.code == "photo-changed" || fault.code == "photo-missing" ||
         fault.code == "photo-unreadable";
}

}  // namespace chalkfold::job
