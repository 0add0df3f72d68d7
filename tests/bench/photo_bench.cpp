// SPDX-License-Identifier: Apache-2.0
#include "tests/bench/photo_bench.h"

#include <fmt/format.h>
#include <sys/resource.h>

#include <algorithm>
#include <ctime>
#include <fstream>
#include <iterator>
#include <map>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>
#include <stdexcept>

#include "pipeline/common/error.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/job/files/panel_files.h"
#include "pipeline/job/run_job.h"
#include "pipeline/trace/find_marks.h"

namespace chalkfold::bench {

namespace {
constexpr int grabcut_iterations = 5;
constexpr double grabcut_margin_mm = 20;  // table left around the panel, so that grabCut has some to learn from

/// CPU seconds of each stage, one entry a round.
using Laps = std::map<std::string, std::vector<double>>;

template <class Work>
auto timed(std::vector<double>& laps, Work&& work) {
  const std::clock_t start = std::clock();
  auto result = work();
  laps.push_back(static_cast<double>(std::clock() - start) / CLOCKS_PER_SEC);
  return result;
}

double median(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

double peak_mb() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  return static_cast<double>(usage.ru_maxrss) * 1024 / 1e6;  // Linux counts it in KiB
}

std::vector<uchar> bytes_of(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  std::vector<uchar> bytes((std::istreambuf_iterator<char>(in)), std::istreambuf_iterator<char>());
  if (bytes.empty()) throw FileError(fmt::format("{}: cannot be read", file.string()));
  return bytes;
}

job::RunOptions run_options(const BenchOptions& options) {
  job::RunOptions run;
  run.fresh = true;  // every round is to measure, not to remember
  run.photos = {options.photo};
  run.out = options.scratch / "whole";
  run.thickness = options.thickness;
  run.survey.print.long_bar_mm = 240;
  run.survey.print.short_bar_mm = 170;
  run.threads = 1;
  return run;
}

void stop_at_refusal(const Faults& faults) {
  for (const Fault& fault : faults) {
    if (fault.severity == Severity::refusal)
      throw std::runtime_error("the photo is refused: " + fault.code + ": " + fault.seen);
  }
}

/// Where the panels lie in the photo, px, with a margin of table.
cv::Rect panels_in_photo(const trace::TraceResult& traced, const survey::TableView& view, double face_height,
                         const cv::Size& size) {
  geometry::Box box;
  double px_per_mm = 0;
  for (const panel::Panel& panel : traced.panels) {
    for (const Vec2& p : panel.outline.points) box.add(view.photo_from_table(p, face_height));
    px_per_mm = std::max(px_per_mm, panel.px_per_mm);
  }
  const Vec2 margin = Vec2::Constant(grabcut_margin_mm * px_per_mm), low = box.min - margin, high = box.max + margin;
  const cv::Rect rect(cv::Point(static_cast<int>(low.x()), static_cast<int>(low.y())),
                      cv::Point(static_cast<int>(high.x()), static_cast<int>(high.y())));
  return rect & cv::Rect(cv::Point(1, 1), size - cv::Size(2, 2));
}

/// One photo through all stages; returns where its panels lie in it.
cv::Rect run_stages(const job::RunOptions& run, const std::filesystem::path& out, Laps& laps, BenchResult& result) {
  const trace::TraceOptions trace = job::effective_trace(run);
  const capture::LoadResult loaded =
      timed(laps["load_photo"], [&] { return capture::load_photo(run.photos[0], run.load); });
  stop_at_refusal(loaded.faults);
  const capture::Photo& photo = loaded.photo.value();
  const capture::Sighting sighting =
      timed(laps["find_sheets"], [&] { return capture::find_sheets(photo, run.sighting); });
  stop_at_refusal(sighting.faults);
  const survey::Survey survey = timed(laps["solve_survey"], [&] {
    return survey::solve_survey({&sighting, 1}, run.survey);
  });
  stop_at_refusal(survey.faults);
  const survey::TableView& view = survey.views.at(0).value();
  trace::TraceResult traced =
      timed(laps["trace_panels"], [&] { return trace::trace_panels(photo, sighting, view, trace); });
  if (traced.panels.empty()) throw std::runtime_error("no panel was measured in the photo");
  // The marks once more, alone: trace_panels holds them too.
  timed(laps["  of it marks"], [&] {
    for (const panel::Panel& traced_panel : traced.panels) {
      panel::Panel panel = traced_panel;
      panel.outline = panel::outline_across_notches(traced_panel);
      panel.marks = {};
      trace::find_marks(panel, photo, view, trace);
    }
    return true;
  });
  timed(laps["output"], [&] {
    for (std::size_t k = 0; k < traced.panels.size(); ++k) {
      output::PanelRecord record;
      record.panel = traced.panels[k];
      record.panel.name = fmt::format("panel {}", k + 1);
      record.thickness_sigma = trace.thickness_sigma;
      job::write_panel(out, record, photo, view, trace.face_height());
    }
    return true;
  });
  result.width = photo.bgr.cols;
  result.height = photo.bgr.rows;
  result.sheets = static_cast<int>(sighting.sheets.size());
  result.panels = static_cast<int>(traced.panels.size());
  return panels_in_photo(traced, view, trace.face_height(), photo.bgr.size());
}

double grabcut_seconds(const std::vector<uchar>& bytes, const cv::Rect& panels, const cv::Size& upright_size,
                       int rounds) {
  std::vector<double> laps;
  const cv::Mat photo = cv::imdecode(bytes, cv::IMREAD_COLOR);  // turned upright by OpenCV itself
  if (photo.size() != upright_size) throw std::runtime_error("OpenCV turns this photo another way than load_photo");
  for (int round = 0; round < rounds; ++round) {
    cv::Mat mask, background, foreground;
    timed(laps, [&] {
      cv::grabCut(photo, mask, panels, background, foreground, grabcut_iterations, cv::GC_INIT_WITH_RECT);
      return true;
    });
  }
  return median(laps);
}
}  // namespace

BenchResult bench_photo(const BenchOptions& options) {
  cv::setNumThreads(1);
  const job::RunOptions run = run_options(options);
  const std::filesystem::path out = options.scratch / "stages";
  job::make_output_folders(out);
  const std::vector<uchar> bytes = bytes_of(options.photo);
  BenchResult result;
  Laps laps;
  std::vector<double> decode, whole;
  cv::Rect panels;
  for (int round = 0; round < options.rounds; ++round) {
    // The unit of all ratios is taken in the same rounds as what it divides, so that a machine that slows down slows both.
    timed(decode, [&] { return cv::imdecode(bytes, cv::IMREAD_COLOR | cv::IMREAD_IGNORE_ORIENTATION).empty(); });
    panels = run_stages(run, out, laps, result);
    job::NoProgress silent;
    timed(whole, [&] { return job::run_job(run, silent).exit; });
  }
  result.decode = median(decode);
  for (const char* stage : {"load_photo", "find_sheets", "solve_survey", "trace_panels", "  of it marks", "output"})
    result.stages.push_back({stage, median(laps.at(stage))});
  result.whole = {"whole run", median(whole)};
  result.peak_mb = peak_mb();
  if (options.grabcut_rounds > 0) {
    result.grabcut = {fmt::format("cv::grabCut, {} iterations", grabcut_iterations),
                      grabcut_seconds(bytes, panels, {result.width, result.height}, options.grabcut_rounds)};
    result.peak_with_grabcut_mb = peak_mb();
  }
  return result;
}

}  // namespace chalkfold::bench
