// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/chalk/chalk_lines.h"

#include <algorithm>

#include "pipeline/geometry/polygon.h"
#include "pipeline/trace/chalk/faint_links.h"
#include "pipeline/trace/chalk/panel_picture.h"
#include "pipeline/trace/chalk/stroke_finder.h"

namespace chalkfold::trace {
namespace {

bool beside_an_edge(const Stroke& stroke, const panel::Panel& panel) {
  // mm: halos and folds lie nearer; of the stroke: most of it, it may leave the edge
  constexpr double beside = 4, share = 0.7;
  std::size_t near = 0;
  for (const Vec2& p : stroke.points) {
    const bool at_edge = geometry::distance_to(panel.outline.points, p, true) < beside ||
                         std::any_of(panel.cutouts.begin(), panel.cutouts.end(), [&](const panel::Contour& c) {
                           return geometry::distance_to(c.points, p, true) < beside;
                         });
    near += at_edge;
  }
  return static_cast<double>(near) > share * static_cast<double>(stroke.points.size());
}

}  // namespace

std::vector<ChalkLine> find_chalk_lines(const panel::Panel& panel, const capture::Photo& photo,
                                        const survey::TableView& view, const TraceOptions& options) {
  const PanelPicture picture = panel_picture(photo.bgr, view, panel, options.face_height());
  std::vector<Stroke> strokes = find_strokes(picture, stroke_options(photo.coding));
  std::erase_if(strokes, [&](const Stroke& stroke) { return beside_an_edge(stroke, panel); });
  std::vector<ChalkLine> lines;
  lines.reserve(strokes.size());
  for (const Stroke& s : strokes) lines.push_back({s.points, s.width, confidence_of(s), s.colour});
  for (FaintLink& link : faint_links(picture, strokes)) {
    const ChalkLine &a = lines[link.from], &b = lines[link.to];
    lines.push_back({std::move(link.points), 0.5 * (a.width + b.width),
                     std::min(1.0, link.ink) * std::min(a.confidence, b.confidence), a.colour});
  }
  return lines;
}

}  // namespace chalkfold::trace
