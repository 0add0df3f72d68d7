// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/files/panel_files.h"

#include <fmt/format.h>

#include <iterator>
#include <vector>

#include "pipeline/common/error.h"
#include "pipeline/common/write_file.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/job/files/kept_state.h"
#include "pipeline/job/files/write_files.h"
#include "pipeline/output/drawing/dxf.h"
#include "pipeline/output/drawing/svg.h"
#include "pipeline/output/json/panel_json.h"
#include "pipeline/output/pictures/pictures.h"

namespace chalkfold::job {

namespace {
namespace fs = std::filesystem;

constexpr double crop_margin = 6;  // mm

/// Pictures of what is written on a panel; entered in the record.
std::vector<OutputFile> crops_of(output::PanelRecord& record, const capture::Photo& photo,
                                 const output::PhotoFromTable& photo_from_table) {
  std::vector<OutputFile> files;
  record.crops.clear();
  for (const CropPlace& crop : crop_places(record.panel)) {
    files.push_back({crop.place, output::crop_jpeg(photo.bgr, photo_from_table, crop.low, crop.high, crop_margin)});
    record.crops.push_back({crop.of, crop.index, crop.place});
  }
  return files;
}
std::string stem_of(const output::PanelRecord& record) { return "measured/" + record.panel.name; }

std::vector<OutputFile> data_files(const output::PanelRecord& record) {
  const std::string stem = stem_of(record);
  return {{stem + ".dxf", output::dxf_of(record.panel)},
          {stem + ".svg", output::svg_of(record.panel)},
          {stem + ".json", output::panel_json(record)}};
}

void enter_data_files(output::PanelRecord& record) {
  const std::string stem = stem_of(record);
  record.files = {stem + ".dxf", stem + ".svg", stem + ".json"};
}
}  // namespace

void make_output_folders(const fs::path& out) {
  for (const fs::path& folder : {out, out / "measured", out / "pictures", out / "pictures" / "marks"})
    make_folder(folder);
  // Heard of now rather than after minutes of work.
  const fs::path probe = out / ".chalkfold-probe";
  write_file_atomically(probe, "");
  std::error_code none;
  fs::remove(probe, none);
}

std::vector<CropPlace> crop_places(const panel::Panel& panel) {
  std::vector<CropPlace> crops;
  const auto add = [&](output::CropRecord::Of of, std::size_t index, const char* what, const geometry::Box& box) {
    crops.push_back(
        {of, index, fmt::format("pictures/marks/{} {} {}.jpg", panel.name, what, index + 1), box.min, box.max});
  };
  for (std::size_t i = 0; i < panel.marks.writings.size(); ++i) {
    geometry::Box box;
    for (const Vec2& p : panel.marks.writings[i].box) box.add(p);
    add(output::CropRecord::Of::writing, i, "writing", box);
  }
  for (std::size_t i = 0; i < panel.marks.matches.size(); ++i) {
    const panel::MatchMark& mark = panel.marks.matches[i];
    if (!mark.number) continue;
    geometry::Box box;  // with the mark itself, so that one sees which it is
    for (const Vec2& p : {mark.number->low, mark.number->high, mark.foot, mark.tip}) box.add(p);
    add(output::CropRecord::Of::number, i, "match mark", box);
  }
  return crops;
}

std::string crop_of(const CropPlace& crop, const capture::Photo& photo,
                    const output::PhotoFromTable& photo_from_panel) {
  return output::crop_jpeg(photo.bgr, photo_from_panel, crop.low, crop.high, crop_margin);
}

void write_panel(const fs::path& out, output::PanelRecord& record, const capture::Photo& photo,
                 const survey::TableView& view, double face_height) {
  const auto photo_from_table = [&](const Vec2& at_in_table) {
    return view.photo_from_table(at_in_table, face_height);
  };
  std::vector<OutputFile> crops = crops_of(record, photo, photo_from_table);
  write_panel(out, record, output::panel_picture_jpeg(photo.bgr, photo_from_table, record.panel), std::move(crops));
}

void write_panel(const fs::path& out, output::PanelRecord& record, std::string picture_jpeg,
                 std::vector<OutputFile> crops) {
  std::vector<OutputFile> files = data_files(record);
  const std::string picture = "pictures/" + record.panel.name + ".jpg";
  files.push_back({picture, std::move(picture_jpeg)});
  std::move(crops.begin(), crops.end(), std::back_inserter(files));
  write_all_or_none(out, files);
  enter_data_files(record);
  record.picture = picture;
}

KeptPictures kept_pictures(const fs::path& out, const output::PanelRecord& record) {
  KeptPictures kept{{}, record.picture, record.crops};
  kept.files.push_back({record.picture, checksum_of(out / record.picture)});
  for (const output::CropRecord& crop : record.crops)
    kept.files.push_back({crop.picture, checksum_of(out / crop.picture)});
  return kept;
}

bool write_with_kept_pictures(const fs::path& out, output::PanelRecord& record, const KeptPictures& kept) {
  for (const KeptFile& file : kept.files)
    if (file.sha256.empty() || checksum_of(out / file.place) != file.sha256) return false;
  record.picture = kept.picture;
  record.crops = kept.crops;
  write_all_or_none(out, data_files(record));
  enter_data_files(record);
  return true;
}

std::set<std::string> older_files(const fs::path& out, const std::set<std::string>& written) {
  std::set<std::string> older;
  const auto look = [&](const std::string& folder, const std::set<std::string>& endings) {
    std::error_code none;
    for (const fs::directory_entry& entry : fs::directory_iterator(out / folder, none)) {
      const std::string place = folder + "/" + entry.path().filename().string();
      if (endings.contains(entry.path().extension().string()) && !written.contains(place)) older.insert(place);
    }
  };
  look("measured", {".dxf", ".svg", ".json"});
  look("pieces", {".dxf", ".svg", ".pdf", ".json"});
  look("cutter", {".dxf"});
  look("layout", {".svg"});
  look("adjusted", {".dxf", ".svg", ".pdf", ".json"});
  look("adjusted/cutter", {".dxf"});
  return older;
}

}  // namespace chalkfold::job
