// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/panel_files.h"

#include <fmt/format.h>

#include <iterator>
#include <vector>

#include "pipeline/common/error.h"
#include "pipeline/common/write_file.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/job/write_files.h"
#include "pipeline/output/dxf.h"
#include "pipeline/output/panel_json.h"
#include "pipeline/output/pictures.h"
#include "pipeline/output/svg.h"

namespace chalkfold {

namespace {
namespace fs = std::filesystem;

constexpr double crop_margin = 6;  // mm

/// Pictures of what is written on a panel; entered in the record.
std::vector<OutputFile> crops_of(PanelRecord& record, const Photo& photo, const PhotoFromTable& photo_from_table) {
  std::vector<OutputFile> files;
  record.crops.clear();
  for (const CropPlace& crop : crop_places(record.panel)) {
    files.push_back({crop.place, crop_jpeg(photo.bgr, photo_from_table, crop.low, crop.high, crop_margin)});
    record.crops.push_back({crop.of, crop.index, crop.place});
  }
  return files;
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

std::vector<CropPlace> crop_places(const Panel& panel) {
  std::vector<CropPlace> crops;
  const auto add = [&](CropRecord::Of of, std::size_t index, const char* what, const Box& box) {
    crops.push_back(
        {of, index, fmt::format("pictures/marks/{} {} {}.jpg", panel.name, what, index + 1), box.min, box.max});
  };
  for (std::size_t i = 0; i < panel.marks.writings.size(); ++i) {
    Box box;
    for (const Vec2& p : panel.marks.writings[i].box) box.add(p);
    add(CropRecord::Of::writing, i, "writing", box);
  }
  for (std::size_t i = 0; i < panel.marks.matches.size(); ++i) {
    const MatchMark& mark = panel.marks.matches[i];
    if (!mark.number) continue;
    Box box;  // with the mark itself, so that one sees which it is
    for (const Vec2& p : {mark.number->low, mark.number->high, mark.foot, mark.tip}) box.add(p);
    add(CropRecord::Of::number, i, "match mark", box);
  }
  return crops;
}

std::string crop_of(const CropPlace& crop, const Photo& photo, const PhotoFromTable& photo_from_panel) {
  return crop_jpeg(photo.bgr, photo_from_panel, crop.low, crop.high, crop_margin);
}

void write_panel(const fs::path& out, PanelRecord& record, const Photo& photo, const TableView& view,
                 double face_height) {
  const auto photo_from_table = [&](const Vec2& at_in_table) {
    return view.photo_from_table(at_in_table, face_height);
  };
  std::vector<OutputFile> crops = crops_of(record, photo, photo_from_table);
  write_panel(out, record, panel_picture_jpeg(photo.bgr, photo_from_table, record.panel), std::move(crops));
}

void write_panel(const fs::path& out, PanelRecord& record, std::string picture_jpeg, std::vector<OutputFile> crops) {
  const Panel& panel = record.panel;
  const std::string stem = "measured/" + panel.name, picture = "pictures/" + panel.name + ".jpg";
  std::vector<OutputFile> files = {{stem + ".dxf", dxf_of(panel)},
                                   {stem + ".svg", svg_of(panel)},
                                   {stem + ".json", panel_json(record)},
                                   {picture, std::move(picture_jpeg)}};
  std::move(crops.begin(), crops.end(), std::back_inserter(files));
  write_all_or_none(out, files);
  record.files = {files[0].place, files[1].place, files[2].place};
  record.picture = picture;
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
  return older;
}

}  // namespace chalkfold
