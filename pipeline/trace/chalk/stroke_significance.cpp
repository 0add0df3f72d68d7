// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/chalk/stroke_significance.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "pipeline/geometry/polygon.h"
#include "pipeline/trace/chalk/displaced_places.h"
#include "pipeline/trace/chalk/match_mark_sizes.h"
#include "pipeline/trace/chalk/stroke_profile.h"

namespace chalkfold::trace {
namespace {

// fitted: no source but the marks found and invented, as chalkfold_marks_accuracy --renders 200 --seed 1000 tells.
constexpr std::size_t copies_wanted = 48, copies_first = 12;  // their spread is known to a tenth, and to a fifth
constexpr std::size_t copies_least = 8;                       // to a quarter
constexpr int copies_tried = 160;                             // places, of which many miss the panel
constexpr double off_own_place = 4;                           // mm: half a broad stroke
constexpr double hopeless = 0.6;         // of the significance asked for, after the first copies: two of their spreads
constexpr double hopeless_at_all = 0.3;  // the same, where lines may turn out to be all there is to it; fitted
constexpr int line_steps = 4;            // either way
constexpr double line_step = panel_mm_per_px;  // mm; together as far as from one rib to the next
// Of such copies on leather, grained or not, and on woven cloth, in units of significance_of: 1.2 to 1.3, and 0.6 to 0.75.
constexpr double grain_mean = 1.2, grain_spread = 0.6;
constexpr std::size_t one_up = 17, one_up_of = 20;  // a normal's share below one standard deviation up: 0.84
// mm: marks drawn together lie nearer; farther a pattern was seen twice
constexpr double repeat_from = 13, repeat_to = 62;
constexpr double repeat_step = 0.8;  // mm: less than a stroke is wide
// lengths: shorter strokes may stand in rows, as marks do; a pattern goes on beyond
constexpr double repeat_beside = 1.2;
constexpr double repeat_share = 0.6;  // of the stroke's contrast; fitted
constexpr double no_spread = 1e-6;

/// Contrast in spreads of what displaced copies show. Nine in ten copies: other strokes may lie under the rest.
double significance_of(const Stroke& stroke, std::vector<double> sizes) {
  std::sort(sizes.begin(), sizes.end());
  const std::size_t most = sizes.size() * trim_kept / trim_of;
  double sum = 0;
  for (std::size_t i = 0; i < most; ++i) sum += sizes[i] * sizes[i];
  return stroke.contrast / std::max(no_spread, std::sqrt(sum / static_cast<double>(most)) / trimmed_spread);
}

/// Unit normal to a stroke's chord.
Vec2 across(const Stroke& stroke) {
  const Vec2 chord = (stroke.points.back() - stroke.points.front()).normalized();
  return {-chord.y(), chord.x()};
}

/// Along ribs a stroke is to be told from the ribs themselves, which are all alike: its contrast over that of copies which have each been moved
/// on to the line beside them, in the spreads of these. Scaled to what significance_of gives on a material without lines.
double significance_among_lines(const Stroke& stroke, const DisplacedCopies& displaced, const std::vector<Vec2>& shifts,
                                double least) {
  std::vector<double> best;
  double significance = 0;
  for (const Vec2& shift : shifts) {
    double most = 0;
    for (int k = -line_steps; k <= line_steps; ++k)
      most = std::max(most, displaced.contrast(shift + k * line_step * across(stroke)).value_or(0));
    best.push_back(most);
    if (best.size() != copies_first && best.size() != shifts.size()) continue;
    std::vector<double> sorted = best;
    std::sort(sorted.begin(), sorted.end());
    const double middle = sorted[sorted.size() / 2], upper = sorted[sorted.size() * one_up / one_up_of];
    significance = grain_mean + grain_spread * (stroke.contrast - middle) / std::max(no_spread, upper - middle);
    if (significance < hopeless * least) break;
  }
  return significance;
}

}  // namespace

void set_significance(Stroke& stroke, const PanelPicture& picture, double least) {
  const Vec2 middle = geometry::bounding_box(stroke.points).centre();
  const DisplacedCopies displaced(picture, stroke);
  std::vector<double> sizes;
  std::vector<Vec2> shifts;
  for (int i = 1; i <= copies_tried && sizes.size() < copies_wanted; ++i) {
    const Vec2 shift = displaced_shift(picture, middle, i);
    if (shift.norm() < off_own_place) continue;
    if (const auto c = displaced.contrast(shift)) {
      sizes.push_back(std::abs(*c));
      shifts.push_back(shift);
    }
    if (sizes.size() == copies_first &&
        (stroke.significance = significance_of(stroke, sizes)) < hopeless_at_all * least)
      return;
  }
  if (sizes.size() < copies_least) {  // nowhere else to lie: a line as long as the panel
    stroke.significance = stroke.contrast * std::sqrt(stroke.length);
    return;
  }
  stroke.significance = significance_of(stroke, std::move(sizes));
  if (stroke.significance < least)
    stroke.significance = std::max(stroke.significance, significance_among_lines(stroke, displaced, shifts, least));
}

void set_repeats(Stroke& stroke, const PanelPicture& picture) {
  const Vec2 chord = (stroke.points.back() - stroke.points.front()).normalized(), normal(-chord.y(), chord.x());
  const DisplacedCopies displaced(picture, stroke);
  const auto shows = [&](const Vec2& shift) {
    const auto c = displaced.contrast(shift);
    return c && *c > repeat_share * stroke.contrast;
  };
  for (const int side : {-1, 1}) {
    bool on = false;
    for (double d = repeat_from; d <= repeat_to; d += repeat_step) {
      const Vec2 aside = side * d * normal;
      const bool strong =
          shows(aside) && (stroke.length > longest_match_mark || shows(aside + repeat_beside * stroke.length * chord) ||
                           shows(aside - repeat_beside * stroke.length * chord));
      stroke.repeats += strong && !on;
      on = strong;
    }
  }
}

}  // namespace chalkfold::trace
