// SPDX-License-Identifier: Apache-2.0
#include "tests/job/fake_stages.h"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <functional>
#include <stdexcept>
#include <thread>

#include "tests/common/run_program.h"
#include "tests/output/flag_panel.h"

namespace chalkfold::test {

namespace {
bool named(const std::string& name, const char* part) { return name.find(part) != std::string::npos; }

capture::LoadResult fake_load(StageCounts& counts, const std::filesystem::path& file) {
  ++counts.loads;
  const int now = ++counts.loading_now;
  int most = counts.most_loading;
  while (now > most && !counts.most_loading.compare_exchange_weak(most, now)) {
  }
  std::this_thread::sleep_for(
      std::chrono::milliseconds(2));  // long enough for another thread to be seen beside this one
  --counts.loading_now;

  const std::string name = file.filename().string();
  capture::LoadResult result;
  if (named(name, "bad")) {
    result.faults = {{"photo-not-a-picture", Severity::refusal, name + " is no picture", "Copy it again.", name, {}}};
    return result;
  }
  capture::Photo photo;
  photo.name = name;
  photo.bgr = cv::Mat(900, 1200, CV_8UC3, cv::Scalar(90, 140, 200));
  photo.sha256 = fake_checksum(file);
  result.photo = photo;
  return result;
}

capture::Sighting fake_find(const capture::Photo& photo) {
  capture::Sighting sighting;
  sighting.photo = photo.name;
  sighting.width = photo.bgr.cols;
  sighting.height = photo.bgr.rows;
  capture::SheetSighting sheet;
  sheet.number = 1;
  for (int k = 0; k < 24; ++k) sheet.corners.push_back({k, Vec2(10 * k, 20), 0.1});
  sighting.sheets = {sheet};
  return sighting;
}

survey::Survey fake_survey(std::span<const capture::Sighting> sightings) {
  survey::Survey survey;
  for (const capture::Sighting& sighting : sightings) {
    const bool usable = !has_refusal(sighting.faults) && !named(sighting.photo, "lost");
    survey.views.push_back(usable ? std::optional(view_from_above(sighting.photo)) : std::nullopt);
    survey.phone_of_sighting.push_back(0);
    survey.setup_of_sighting.push_back(named(sighting.photo, "again") ? 1 : 0);
    survey.joint_of_sighting.push_back(survey::TableView::parameters *
                                       static_cast<int>(survey.joint_of_sighting.size()));
    if (usable) survey.faults.push_back({"strong-tilt", Severity::warning, "seen", "remedy", sighting.photo, {}});
  }
  const auto size = static_cast<Eigen::Index>(survey::TableView::parameters * sightings.size());
  survey.joint = 1e-12 * Eigen::MatrixXd::Identity(size, size);
  survey.lenses = {calib::Lens{1200, 900, 1000, 599.5, 449.5, 0, 0, 0, 0, 0}};
  survey.faults.push_back({"print-scale-unmeasured", Severity::warning, "seen", "remedy", {}, {}});
  return survey;
}

/// What a photo that ends 160 mm right of the flag's left edge, or begins 40 mm right of it, shows of the flag.
trace::PanelPart flag_part(const capture::Photo& photo, bool left) {
  constexpr double frame = 10, flag_left = -37.25, reach = 60;  // mm; as flag_panel lays it
  const double from = flag_left + (left ? -100 : 40), to = flag_left + (left ? 160 : 300);
  trace::PanelPart part;
  part.panel = flag_panel("");
  part.panel.cutouts.clear();
  for (Vec2& p : part.panel.outline.points) p.x() = std::clamp(p.x(), from - frame, to + frame);
  part.seen = {{from, -reach}, {to, -reach}, {to, 300}, {from, 300}};
  part.alone = {"panel-cut-by-frame", Severity::refusal, "the panel runs off the picture", "remedy", photo.name, ""};
  return part;
}

trace::TraceResult fake_trace(const capture::Photo& photo, const trace::StagePicture& picture) {
  if (named(photo.name, "throws")) throw std::logic_error("edge of 0 points");
  if (picture) picture("coarse", photo.bgr);
  trace::TraceResult result;
  for (const bool left : {true, false})
    if (named(photo.name, left ? "part-one" : "part-two")) {
      result.parts.push_back(flag_part(photo, left));
      if (named(photo.name, "moved"))
        for (Vec2& p : result.parts[0].panel.outline.points) p.y() += 5;
      return result;
    }
  const int panels = named(photo.name, "three") ? 3 : named(photo.name, "two") ? 2 : 1;
  for (int k = 0; k < panels; ++k) result.panels.push_back(flag_panel(""));
  if (named(photo.name, "other"))
    for (Vec2& p : result.panels[0].outline.points) p.y() *= 1.1;
  if (named(photo.name, "cut")) {
    result.panels[0].faults = {{"panel-cut-by-frame", Severity::refusal, "seen", "remedy", {}, {}}};
  }
  return result;
}
}  // namespace

std::string fake_checksum(const std::filesystem::path& file) {
  return fmt::format("{:064x}", std::hash<std::string>()(read_whole(file)));
}

survey::TableView view_from_above(const std::string& photo) {
  survey::TableView::Solution solution;
  solution.photo = photo;
  solution.width = 1200;
  solution.height = 900;
  solution.lens = calib::Lens{1200, 900, 1000, 599.5, 449.5, 0, 0, 0, 0, 0};
  solution.pose.rotation = Vec3(1, -1, -1).asDiagonal();
  solution.pose.translation = Vec3(0, 0, 1000);
  solution.corners_used = 24;
  return survey::TableView(solution);
}

job::Stages fake_stages(const std::shared_ptr<StageCounts>& counts) {
  return {
      [counts](const std::filesystem::path& file, const capture::LoadOptions&) { return fake_load(*counts, file); },
      [](const capture::Photo& photo, const capture::SightingOptions&) { return fake_find(photo); },
      [](std::span<const capture::Sighting> sightings, const survey::SurveyOptions&) { return fake_survey(sightings); },
      [](const capture::Photo& photo, const capture::Sighting&, const survey::TableView&, const trace::TraceOptions&,
         const trace::StagePicture& picture) { return fake_trace(photo, picture); },
      {},
      {}};
}

}  // namespace chalkfold::test
