// SPDX-License-Identifier: Apache-2.0
#include "tests/accuracy/mark_trial.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <opencv2/imgcodecs.hpp>

#include "calib/sheet_layout.h"
#include "demo/camera/photo_file.h"
#include "demo/camera/render.h"
#include "demo/camera/truth.h"
#include "pipeline/capture/sighting.h"
#include "pipeline/common/write_file.h"
#include "pipeline/survey/survey.h"
#include "pipeline/trace/trace.h"

namespace chalkfold::accuracy {

namespace {

/// As load_photo would give it, without a file in between.
capture::Photo photo_of(const demo::Scene& scene, const std::vector<unsigned char>& jpeg) {
  capture::Photo photo;
  photo.name = scene.name + ".jpg";
  photo.bgr =
      capture::upright(cv::imdecode(jpeg, cv::IMREAD_COLOR | cv::IMREAD_IGNORE_ORIENTATION), scene.camera.orientation);
  photo.exif.make = "Example";
  photo.exif.model = scene.phone;
  photo.exif.focal_35mm = std::round(scene.focal_35mm);
  photo.exif.orientation = scene.camera.orientation;
  photo.intact_part = {0, 0, photo.bgr.cols, photo.bgr.rows};
  return photo;
}

std::string refusal_in(const Faults& faults) {
  for (const Fault& f : faults) {
    if (f.severity == Severity::refusal) return f.code;
  }
  return {};
}

/// From the sheets, whose places are known in both frames.
geometry::Rigid2 truth_from_survey(const survey::TableView& view, const demo::Scene& scene) {
  Polyline source, target;
  constexpr double arm = 100;  // mm from a sheet's centre
  for (const survey::SheetPlace& found : view.solution().sheets) {
    for (const demo::SheetOnTable& s : scene.sheets) {
      if (s.number != found.number) continue;
      for (const Vec2& p : {Vec2(0, 0), Vec2(arm, 0), Vec2(0, arm)}) {
        source.push_back(geometry::Rigid2{found.theta, found.centre} * p);
        target.push_back(geometry::Rigid2{s.theta, s.at} * p);
      }
    }
  }
  return geometry::fit_rigid(source, target);
}

struct Measured {
  std::vector<chalkfold::panel::Panel> panels;
  geometry::Rigid2 truth_from_table;
  std::string fault;
};

Measured measure(const demo::Scene& scene, const nlohmann::json& truth, const std::vector<unsigned char>& jpeg) {
  Measured out;
  const capture::Photo photo = photo_of(scene, jpeg);
  const capture::Sighting sighting = capture::find_sheets(photo);
  out.fault = refusal_in(sighting.faults);
  if (!out.fault.empty()) return out;
  survey::SurveyOptions survey_options;
  survey_options.print.long_bar_mm = sheet::long_bar * scene.print_scale.y;
  survey_options.print.short_bar_mm = sheet::short_bar * scene.print_scale.x;
  const survey::Survey survey = survey::solve_survey({&sighting, 1}, survey_options);
  out.fault = refusal_in(survey.faults);
  if (!out.fault.empty() || !survey.views.at(0)) return out;
  trace::TraceOptions trace_options;
  trace_options.thickness = scene.panels[0].thickness;
  trace_options.paper_thickness = truth.at("sheet_plane_z");
  trace::TraceResult traced = trace::trace_panels(photo, sighting, *survey.views[0], trace_options);
  out.fault = refusal_in(traced.faults);
  out.panels = std::move(traced.panels);
  out.truth_from_table = truth_from_survey(*survey.views[0], scene);
  return out;
}

void write_beside(const std::filesystem::path& folder, const std::string& name, const nlohmann::json& truth,
                  const std::vector<unsigned char>& jpeg) {
  std::filesystem::create_directories(folder);
  write_file_atomically(folder / (name + ".jpg"), std::string(jpeg.begin(), jpeg.end()));
  write_file_atomically(folder / (name + ".truth.json"), truth.dump(1) + "\n");
}

}  // namespace

TrialResult run_trial(std::uint64_t seed, const demo::MarkSceneOptions& options,
                      const std::optional<std::filesystem::path>& folder) {
  const demo::MarkScene marks = demo::mark_scene(seed, options);
  const demo::Scene& scene = marks.scene;
  const nlohmann::json truth = demo::truth(scene);
  const std::vector<unsigned char> jpeg = demo::jpeg_with_exif(demo::render(scene), scene);
  if (folder) write_beside(*folder, scene.name, truth, jpeg);

  TrialResult out{.name = scene.name, .material = marks.material, .contrast = marks.contrast, .score = {}, .fault = {}};
  const demo::LaidPanel& panel = scene.panels[0];
  const Measured measured = measure(scene, truth, jpeg);
  const Vec2 middle = geometry::centroid(panel.outline);
  constexpr double same = 30;  // mm between centroids: another thing of the scene lies farther away
  for (const chalkfold::panel::Panel& found : measured.panels) {
    if ((measured.truth_from_table * geometry::centroid(found.outline.points) - middle).norm() > same) continue;
    const geometry::Rigid2 put = truth_from_measured(found.outline.points, panel.outline, measured.truth_from_table);
    out.score = score_marks(found, panel, put);
    return out;
  }
  out.score = score_missing(panel);
  out.fault = measured.fault.empty() ? "no-panel-there" : measured.fault;
  return out;
}

}  // namespace chalkfold::accuracy
