// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <set>
#include <string>
#include <vector>

#include "pipeline/capture/photo.h"
#include "pipeline/job/files/state_archive.h"
#include "pipeline/job/files/write_files.h"
#include "pipeline/output/json/results.h"
#include "pipeline/output/pictures/pictures.h"
#include "pipeline/survey/table_view.h"

namespace chalkfold::job {

/// Makes OUT, OUT/measured, OUT/pictures and OUT/pictures/marks. Throws FileError when one cannot be made or written to.
void make_output_folders(const std::filesystem::path& out);

/// A part of the panel to be cut out of its photo for a person to read, in the panel's frame.
struct CropPlace {
  output::CropRecord::Of of = output::CropRecord::Of::writing;
  std::size_t index = 0;
  /// relative to OUT
  std::string place;
  Vec2 low = Vec2::Zero(), high = Vec2::Zero();
};

/// What is written on a panel.
std::vector<CropPlace> crop_places(const panel::Panel& panel);

/// Bytes of one of them.
std::string crop_of(const CropPlace& crop, const capture::Photo& photo, const output::PhotoFromTable& photo_from_panel);

/// Writes measured/NAME.{dxf,svg,json}, pictures/NAME.jpg and pictures/marks/NAME ....jpg (what is written on it) of a measured panel and enters them in the record. All
/// bytes are made before the first file is written; when a file cannot be written, those of this panel are removed
/// again and FileError is thrown. face_height: mm, of the panel's upper face in the table frame.
void write_panel(const std::filesystem::path& out, output::PanelRecord& record, const capture::Photo& photo,
                 const survey::TableView& view, double face_height);

/// The same with the pictures made already; record.crops is to hold those in `crops`.
void write_panel(const std::filesystem::path& out, output::PanelRecord& record, std::string picture_jpeg,
                 std::vector<OutputFile> crops);

/// Pictures of a panel as an earlier run wrote them, for taking them over.
KeptPictures kept_pictures(const std::filesystem::path& out, const output::PanelRecord& record);

/// Enters the pictures of an earlier run, if they are all still there as they were, and writes the panel's other files. Otherwise nothing is done and false returned.
bool write_with_kept_pictures(const std::filesystem::path& out, output::PanelRecord& record, const KeptPictures& kept);

/// Files in OUT/measured, pieces, cutter, layout and adjusted that look like ours but are not among `written` (paths relative to OUT): left from an earlier
/// run. Sorted.
std::set<std::string> older_files(const std::filesystem::path& out, const std::set<std::string>& written);

}  // namespace chalkfold::job
