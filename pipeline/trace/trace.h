// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "pipeline/capture/photo.h"
#include "pipeline/capture/sighting.h"
#include "pipeline/survey/table_view.h"
#include "pipeline/trace/panel.h"

namespace chalkfold {

struct TraceOptions {
  double thickness = 1.2;         ///< mm, from the table to the panel's upper face
  double paper_thickness = 0.1;   ///< mm, from the table to the sheets' printed face (z = 0): office paper of 80 g/m2
  double thickness_sigma = 0.1;   ///< mm, of a thickness read with calipers; larger when the user did not say
  double min_width = 30;          ///< mm, narrowest panel; narrower things are tools
  double min_area = 2500;         ///< mm2
  double min_cutout_width = 7;    ///< mm, narrower openings are chalk, holes or slits
  double coarse_mm_per_px = 1.0;  ///< of the coarse segmentation
  double search = 4.0;            ///< mm either side of the coarse boundary in which the edge is looked for
  double spacing = 1.0;           ///< mm between outline points
  bool rings = false;             ///< look for drawn rings (rings.h): the photo is to show a hide
  /// Height of the panel's upper face in the table frame, mm.
  double face_height() const { return thickness - paper_thickness; }
};

/// A panel that runs off the picture, for joining with what other photos of the same setup show of it.
struct PanelPart {
  Panel panel;    ///< its outline runs along the picture's border where the panel goes on; no marks yet
  Polyline seen;  ///< table mm, closed: where in this photo the outline is to be believed
  Fault alone;    ///< panel-cut-by-frame: what is to be told when nothing can be joined to it
};

struct TraceResult {
  std::vector<Panel> panels;     ///< left to right, then bottom to top by centroid
  std::vector<PanelPart> parts;  ///< panels that run off the picture
  Faults faults;  ///< of the photo: no-panel, panel-over-sheet, panel-not-followed, no-sharp-edge and give_tags' own
};

/// Called with a stage's picture when the user asked for them (`--pictures`): stage name and an 8-bit image.
using StagePicture = std::function<void(const std::string& stage, const cv::Mat& picture)>;

/// Finds and measures every panel in a photo. Fault codes: no-panel, panel-cut-by-frame (of a part), panel-over-sheet, no-sharp-edge,
/// panel-not-followed, those of give_tags, and on a panel panel-low-contrast, outline-doubtful (a long stretch of doubtful edge) and centre-line-off.
TraceResult trace_panels(const Photo& photo, const Sighting& sighting, const TableView& view,
                         const TraceOptions& options = {}, const StagePicture& picture = {});

}  // namespace chalkfold
