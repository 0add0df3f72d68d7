// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/find_marks.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "pipeline/common/require.h"
#include "pipeline/geometry/closed_outline.h"
#include "pipeline/trace/chalk/centre_line.h"
#include "pipeline/trace/chalk/grain_line.h"
#include "pipeline/trace/chalk/match_marks.h"
#include "pipeline/trace/chalk/panel_picture.h"
#include "pipeline/trace/chalk/stroke_finder.h"
#include "pipeline/trace/chalk/stroke_profile.h"
#include "pipeline/trace/chalk/writing.h"
#include "pipeline/trace/cuts/drill_holes.h"
#include "pipeline/trace/cuts/needle_rows.h"
#include "pipeline/trace/cuts/notch_course.h"
#include "pipeline/trace/cuts/notches.h"
#include "pipeline/trace/cuts/outline_excursion.h"

namespace chalkfold::trace {
namespace {

// fitted: chalkfold_marks_accuracy, 200 renders from seed 1000, and the photographs

void take(std::vector<bool>& used, const std::vector<std::size_t>& strokes) {
  for (const std::size_t i : strokes) used[i] = true;
}

/// A stroke that leads away from the outline at about a right angle: near a corner it may run beside the other edge.
bool leads_away(const Stroke& stroke, const geometry::ClosedOutline& outline) {
  constexpr double longest = 45, most_slant = 0.5;  // mm, rad
  if (stroke.length > longest) return false;
  for (const bool first : {true, false}) {
    const Vec2 end = first ? stroke.points.front() : stroke.points.back(),
               out = (end - (first ? stroke.points.back() : stroke.points.front())).normalized();
    const auto foot = outline.crossing(end - match_mark_overlap * out, out, match_mark_gap + match_mark_overlap);
    if (foot && out.dot(outline.outward_over(foot->along, match_mark_normal_arm)) > std::cos(most_slant)) return true;
  }
  return false;
}

/// Halos, folds and stitching run beside the edge; marks do not, but beside another edge than their own.
bool along_the_edge(const Stroke& stroke, const geometry::ClosedOutline& outline) {
  constexpr double beside = 7;        // mm from the edge; fitted
  constexpr double share = 0.7;       // of the stroke; fitted
  constexpr double longest_mark = 9;  // mm: shorter ones may be a mark's stump; fitted
  if (stroke.length < longest_mark || leads_away(stroke, outline)) return false;
  std::size_t near = 0;
  constexpr std::size_t stride = 4;
  for (std::size_t i = 0; i < stroke.points.size(); i += stride)
    near += (outline.nearest(stroke.points[i]).point - stroke.points[i]).norm() < beside;
  return static_cast<double>(stride * near) > share * static_cast<double>(stroke.points.size());
}

/// Needle holes run together into what looks like a fine stroke.
bool along_a_row(const Stroke& stroke, const std::vector<panel::NeedleRow>& rows) {
  constexpr double beside = 1.5;  // mm: a hole, and how well its row is known; fitted
  constexpr double share = 0.6;   // of the stroke; fitted
  for (const panel::NeedleRow& row : rows) {
    std::size_t near = 0;
    for (const Vec2& p : stroke.points) near += geometry::distance_to(row.points, p, false) < beside;
    if (static_cast<double>(near) > share * static_cast<double>(stroke.points.size())) return true;
  }
  return false;
}

/// Needle holes that a line of the grain runs through lend it their darkness: what is drawn shows as much beside the old seam as on it.
bool shows_beside_rows(const PanelPicture& picture, const Stroke& stroke, const std::vector<panel::NeedleRow>& rows) {
  constexpr double beside = 2.2;  // mm from a row: a hole, and its blur
  constexpr double least = 0.7;   // of the stroke's own contrast: chalk keeps all, a line of the grain about half
  double ink = 0;
  int away = 0;
  for (const Vec2& p : stroke.points) {
    const bool on_row = std::any_of(rows.begin(), rows.end(), [&](const panel::NeedleRow& row) {
      return geometry::distance_to(row.points, p, false) < beside;
    });
    if (on_row) continue;
    ink += ink_at(picture, stroke, p);
    ++away;
  }
  return away == static_cast<int>(stroke.points.size()) || (away > 0 && ink > least * away);
}

/// The sides of a notch are lines too.
bool in_a_notch(const Stroke& stroke, const std::vector<panel::Notch>& notches) {
  constexpr double beyond = 2.5;  // mm: its blur and fray; fitted
  return std::any_of(notches.begin(), notches.end(), [&](const panel::Notch& n) {
    const double reach = std::max(n.depth, n.width / 2) + beyond;
    return std::all_of(stroke.points.begin(), stroke.points.end(),
                       [&](const Vec2& p) { return (p - n.foot).norm() < reach; });
  });
}

std::vector<std::vector<NotchCut>> notches_along(const std::vector<EdgeBase>& bases, const cv::Mat& photo_bgr,
                                                 const survey::TableView& view, double height,
                                                 const std::vector<Stroke>& strokes) {
  std::vector<std::vector<NotchCut>> cuts;
  for (const EdgeBase& base : bases) {
    cuts.push_back(find_notches(photo_bgr, view, base, height));
    std::erase_if(cuts.back(), [&](const NotchCut& cut) {
      return std::any_of(strokes.begin(), strokes.end(), [&](const Stroke& s) { return is_drawn(cut, s.points); });
    });
  }
  return cuts;
}

/// Those of the excursions in whose mouth a notch was found.
std::vector<OutlineExcursion> with_a_notch(std::vector<OutlineExcursion> excursions,
                                           const std::vector<std::vector<NotchCut>>& cuts) {
  constexpr double beside = 4;  // mm, of a notch's foot from the chord across the mouth; fitted
  std::erase_if(excursions, [&](const OutlineExcursion& e) {
    return std::none_of(cuts.begin(), cuts.end(), [&](const std::vector<NotchCut>& edge) {
      return std::any_of(edge.begin(), edge.end(), [&](const NotchCut& cut) {
        return geometry::distance_to({e.mouth_from, e.mouth_to}, cut.notch.foot, false) < beside;
      });
    });
  });
  return excursions;
}

/// Cuts the notches into the panel's outline; returns the bases of its edges. A notch as large as an edge's own corners has them in the outline:
/// the outline is led across whatever may be one, and put back where none is found.
std::vector<EdgeBase> take_notches(panel::Panel& panel, const cv::Mat& photo_bgr, const survey::TableView& view,
                                   double height, const std::vector<Stroke>& strokes) {
  const panel::Contour measured = panel.outline;
  const std::vector<OutlineExcursion> excursions = find_excursions(geometry::ClosedOutline(measured.points));
  panel.outline = led_across(measured, excursions);
  std::vector<EdgeBase> bases = edge_bases(geometry::ClosedOutline(panel.outline.points));
  std::vector<std::vector<NotchCut>> cuts = notches_along(bases, photo_bgr, view, height, strokes);
  const std::vector<OutlineExcursion> notched = with_a_notch(excursions, cuts);
  if (notched.size() < excursions.size()) {
    panel.outline = led_across(measured, notched);
    bases = edge_bases(geometry::ClosedOutline(panel.outline.points));
    cuts = notches_along(bases, photo_bgr, view, height, strokes);
  }
  cut_notches(panel, bases, cuts);
  if (!panel.marks.notches.empty())
    bases = edge_bases(geometry::ClosedOutline(panel::outline_across_notches(panel).points));
  return bases;
}

void note_disagreement(panel::Panel& panel, const CentreLineResult& centre, const geometry::ClosedOutline& outline,
                       const std::string& photo) {
  const Vec2 normal(-centre.reflection.direction.y(), centre.reflection.direction.x());
  double low = 1e300, high = -1e300;
  for (const Vec2& p : outline.points()) {
    low = std::min(low, p.dot(normal));
    high = std::max(high, p.dot(normal));
  }
  const double most = centre_agrees_offset(high - low);
  if (centre.off <= most && centre.off_angle <= centre_agrees_angle) return;
  panel.faults.push_back(
      {"centre-line-off", Severity::warning,
       fmt::format("the chalked centre line lies {:.1f} mm and {:.1f} degrees off the line about which the outline is "
                   "most nearly its own "
                   "mirror image (agreement is within {:.1f} mm and {:.1f} degrees)",
                   centre.off, centre.off_angle * 180 / M_PI, most, centre_agrees_angle * 180 / M_PI),
       "Look at the picture: is the line the centre line, and has one half stretched? Then choose which half to "
       "keep: fold in the job, or --fold.",
       photo, ""});
}

cv::Mat strokes_drawn(const PanelPicture& picture, const std::vector<Stroke>& strokes) {
  constexpr int bits = 3;  // of a pixel's fraction
  cv::Mat drawn = picture.bgr.clone();
  for (const Stroke& s : strokes) {
    std::vector<cv::Point> line;
    for (const Vec2& p : s.points) {
      const Vec2 q = picture.raster.raster_from_table(p) * (1 << bits);
      line.emplace_back(cvRound(q.x()), cvRound(q.y()));
    }
    cv::polylines(drawn, line, false, cv::Scalar(0, 255, 0), 1, cv::LINE_AA, bits);
  }
  return drawn;
}

}  // namespace

void find_marks(panel::Panel& panel, const capture::Photo& photo, const survey::TableView& view,
                const TraceOptions& options, const StagePicture& stage_picture) {
  check(options);
  require_at_least("points of the outline", panel.outline.points.size(), 3);
  const PanelPicture picture = panel_picture(photo.bgr, view, panel, options.face_height());
  StrokeOptions of_strokes = stroke_options(photo.coding);
  const geometry::ClosedOutline measured(panel.outline.points);
  of_strokes.expected = [&](const Stroke& stroke) { return leads_away(stroke, measured); };
  std::vector<Stroke> strokes = find_strokes(picture, of_strokes);
  if (stage_picture) stage_picture("strokes", strokes_drawn(picture, strokes));
  const std::vector<EdgeBase> bases = take_notches(panel, photo.bgr, view, options.face_height(), strokes);
  const geometry::ClosedOutline outline(panel::outline_across_notches(panel).points);
  for (const EdgeBase& base : bases) {
    for (panel::NeedleRow& row : find_needle_rows(photo.bgr, view, outline, base, options.face_height()))
      panel.marks.needle_rows.push_back(std::move(row));
  }
  std::erase_if(strokes, [&](const Stroke& s) {
    return along_the_edge(s, outline) || along_a_row(s, panel.marks.needle_rows) ||
           in_a_notch(s, panel.marks.notches) || !shows_beside_rows(picture, s, panel.marks.needle_rows);
  });
  panel.marks.holes = find_drill_holes(picture, strokes, panel.marks.needle_rows);
  std::vector<bool> used(strokes.size(), false);
  panel.marks.matches = find_match_marks(picture, strokes, outline, used);
  const GrainLineResult grain = find_grain_line(picture, strokes, used);
  panel.marks.grain = grain.line;
  take(used, grain.strokes);
  const CentreLineResult centre = find_centre_line(strokes, outline, used);
  panel.marks.centre = centre.line;
  take(used, centre.strokes);
  if (centre.line) note_disagreement(panel, centre, outline, view.solution().photo);
  panel.marks.writings = find_writing(strokes, used, panel.marks.matches);
}

}  // namespace chalkfold::trace
