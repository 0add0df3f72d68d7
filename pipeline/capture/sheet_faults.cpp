// SPDX-License-Identifier: Apache-2.0
#include "pipeline/capture/sheet_faults.h"

#include <fmt/format.h>

#include <algorithm>

#include "calib/sheet_layout.h"

#include "pipeline/geometry/robust.h"

namespace chalkfold::capture {

Fault other_layout_fault(int sheet_number, int markers, double agreeing) {
  return {"other-layout",
          Severity::warning,
          fmt::format("a board with {} markers of sheet {} lies in the picture, but only {:.0f} % of their corners are "
                      "where this sheet has them",
                      markers, sheet_number, 100 * agreeing),
          "Use sheets printed by `chalkfold sheets`, flat and uncut; take other boards away.",
          "",
          ""};
}

void add_sheet_faults(const SheetSighting& sheet, const SightingOptions& options, Faults& faults) {
  if (sheet.outside > 0) {
    faults.push_back({"sheet-cut-by-frame", Severity::warning,
                      fmt::format("{} of {} corners of sheet {} lie outside the picture", sheet.outside,
                                  sheet::corners_per_sheet, sheet.number),
                      "Move the phone back or the sheet in until every sheet is whole in the picture.", "", ""});
  }
  if (sheet.dropped > 0) {
    faults.push_back(
        {"corners-dropped", sheet.dropped > 4 ? Severity::warning : Severity::note,
         fmt::format("of sheet {}, {} of {} corners were left out: covered, or not where the rest of it has them",
                     sheet.number, sheet.dropped, sheet.dropped + static_cast<int>(sheet.corners.size())),
         "Lay the sheet flat, uncovered and out of glare; reprint it if it is creased.", "", ""});
  }
  if (static_cast<int>(sheet.corners.size()) < options.min_corners) {
    faults.push_back({"sheet-not-used", Severity::warning,
                      fmt::format("only {} of {} corners of sheet {} could be measured", sheet.corners.size(),
                                  sheet::corners_per_sheet, sheet.number),
                      "Lay the sheet so that all of it is seen, sharp and without glare.", "", ""});
  }
}

namespace {

void add_quality_faults(Sighting& sighting, const SightingOptions& options) {
  std::vector<double> blur, scale, white;
  for (const SheetSighting& s : sighting.sheets) {
    blur.push_back(s.blur_px);
    scale.push_back(s.square_px / sheet::square);
    white.push_back(s.white_bgr.maxCoeff());
  }
  const double middle_blur = geometry::median(std::move(blur));
  const double least_scale = *std::min_element(scale.begin(), scale.end());
  if (middle_blur > options.max_blur_px) {
    sighting.faults.push_back({"blurred", Severity::refusal,
                               fmt::format("the sheets' edges are blurred over {:.1f} px (at most {:.1f} px can be "
                                           "used), that is {:.1f} mm on the table",
                                           middle_blur, options.max_blur_px, middle_blur / least_scale),
                               "Tap on a sheet to focus, hold the phone still or rest it, give more light, wipe the "
                               "lens, and take the photo again.",
                               "", ""});
  }
  if (least_scale < options.min_px_per_mm) {
    sighting.faults.push_back({"too-few-pixels", Severity::warning,
                               fmt::format("the farthest sheet has {:.2f} px per mm (at least {:.1f} wanted)",
                                           least_scale, options.min_px_per_mm),
                               "Go nearer or use the camera's full resolution; measure a large panel in two photos.",
                               "", ""});
  }
  const double brightest = *std::max_element(white.begin(), white.end());
  if (brightest >= options.over_exposed) {
    sighting.faults.push_back({"over-exposed", Severity::warning,
                               fmt::format("the sheets' paper is at {:.0f} of 255: burnt out", brightest),
                               "Tap on the paper to set the exposure, or turn the exposure down, and keep direct sun "
                               "and flash off the sheets.",
                               "", ""});
  }
}

}  // namespace

void add_photo_faults(Sighting& sighting, const SightingOptions& options) {
  if (sighting.sheets.empty()) {
    const bool seen_some = std::any_of(sighting.faults.begin(), sighting.faults.end(), [](const Fault& f) {
      return f.code == "sheet-not-used" || f.code == "other-layout";
    });
    sighting.faults.push_back({"no-sheet", Severity::refusal,
                               seen_some ? "no calibration sheet in the picture can be used"
                                         : "no calibration sheet was found in the picture",
                               "Print the sheets (`chalkfold sheets --out sheets.pdf`), lay three or four around the "
                               "panel, whole in the picture and in focus.",
                               "", ""});
    return;
  }
  if (sighting.sheets.size() == 1) {
    sighting.faults.push_back(
        {"one-sheet", Severity::warning, fmt::format("only sheet {} was found", sighting.sheets[0].number),
         "Lay three or four sheets around the panel: with one the error is some five to ten times larger.", "", ""});
  }
  add_quality_faults(sighting, options);
}

}  // namespace chalkfold::capture
