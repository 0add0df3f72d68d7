// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/chalk_lines.h"

#include <algorithm>

#include "pipeline/geometry/polygon.h"
#include "pipeline/trace/faint_links.h"
#include "pipeline/trace/panel_picture.h"
#include "pipeline/trace/stroke_finder.h"

namespace chalkfold {
namespace {

bool beside_an_edge(const Stroke& stroke, const Panel& panel) {
  constexpr double beside = 4, share = 0.7;  // mm; of the stroke
  std::size_t near = 0;
  for (const Vec2& p : stroke.points) {
    const bool at_edge = distance_to(panel.outline.points, p, true) < beside ||
                         std::any_of(panel.cutouts.begin(), panel.cutouts.end(),
                                     [&](const Contour& c) { return distance_to(c.points, p, true) < beside; });
    near += at_edge;
  }
  return static_cast<double>(near) > share * static_cast<double>(stroke.points.size());
}

}  // namespace

std::vector<ChalkLine> find_chalk_lines(const Panel& panel, const Photo& photo, const TableView& view,
                                        const TraceOptions& options) {
  const PanelPicture picture = panel_picture(photo.bgr, view, panel, options.face_height());
  std::vector<Stroke> strokes = find_strokes(picture, stroke_options(photo.coding));
  std::erase_if(strokes, [&](const Stroke& stroke) { return beside_an_edge(stroke, panel); });
  std::vector<ChalkLine> lines;
  for (const Stroke& s : strokes) lines.push_back({s.points, s.width, confidence_of(s), s.colour});
  for (FaintLink& link : faint_links(picture, strokes)) {
    const ChalkLine &a = lines[link.from], &b = lines[link.to];
    lines.push_back({std::move(link.points), 0.5 * (a.width + b.width),
                     std::min(1.0, link.ink) * std::min(a.confidence, b.confidence), a.colour});
  }
  return lines;
}

}  // namespace chalkfold
