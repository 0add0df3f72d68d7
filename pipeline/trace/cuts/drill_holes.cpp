// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/cuts/drill_holes.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <optional>

#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/robust.h"
#include "pipeline/trace/cuts/needle_rows.h"

namespace chalkfold::trace {
namespace {

// fitted: no source but the holes found and invented, as chalkfold_marks_accuracy --renders 200 --seed 1000 tells.
constexpr double most_diameter = 6.8;  // mm: awls and punches are up to 6 mm thick, and blur widens; wider is a cut-out
constexpr double smoothing = 0.45;     // mm: a third of the narrowest hole; noise goes, the hole stays
constexpr double least_contrast = 7;   // standard deviations: chance in three channels is under 1 in 10^9
constexpr double most_elongation = 1.45;          // longer over shorter axis; fitted
constexpr double skirts = 4;                      // mm over both sides, in which blur carries a hole above the material
constexpr double ring_from = 0.9, ring_to = 1.8;  // mm beyond the hole's side: past its blur, before a neighbour
constexpr double least_bare = 0.9;                // share of that ring which shows bare material; fitted
constexpr double ring_share = 0.35;               // of the hole's own departure: less is bare; fitted
constexpr double beside_row = 2.0;                // mm from a needle row: a torn hole's radius and the row's wander
constexpr std::size_t row_end = 5;                // holes that give its direction there
constexpr double beside_stroke = 5.0;  // mm from a stroke's middle, beyond half its width: crumbs of its chalk
constexpr double usual_share = 0.96;   // of the surface; strokes take up the rest
constexpr double over_usual = 1.7, over_bare = 1.2;  // of that departure: a hole, bare material; fitted
constexpr double least_bare_norm = 3.5;              // standard deviations: 99.3 % of three channels is below
constexpr double least_step = 40;  // of 255, over the three channels together: less may be a speck of dust; fitted
constexpr double small = 2.2, small_weight = 1.5;  // mm; a hole smaller than that must stand out that much more; fitted
constexpr double brightest = 1.2;                  // of the table's own brightness: uneven light; fitted
constexpr double same_hue = 0.965;                 // cosine between the colours of hole and table, 15 degrees; fitted
constexpr double dark = 0.3;  // of the table's brightness: in deep shadow colour says nothing; fitted
constexpr double black = 40;  // of 255, over the three channels together: noise and coding make its colour
// 1 standard deviation of its middle: px, and of its diameter; fitted
constexpr double place_px = 0.1, place_share = 0.03;

using Channels = std::array<std::vector<unsigned char>, 3>;

/// Channelwise; black when there are none.
cv::Vec3d median_of(Channels& values) {
  cv::Vec3d out;
  for (int c = 0; c < 3; ++c) {
    auto& v = values[static_cast<std::size_t>(c)];
    if (v.empty()) return out;
    out[c] = geometry::median(std::move(v));
  }
  return out;
}

cv::Vec3d table_colour(const PanelPicture& picture) {
  // What lies outside the panel in its picture; a robust middle, since sheets may show too.
  cv::Mat panel;
  constexpr int clear = 9;  // px: the mask ends a rim inside the edge; its fray and shadow reach as far outside
  cv::dilate(picture.inside, panel, cv::getStructuringElement(cv::MORPH_ELLIPSE, {clear, clear}));
  Channels values;
  for (int y = 0; y < panel.rows; y += 2) {
    for (int x = 0; x < panel.cols; x += 2) {
      if (panel.at<unsigned char>(y, x)) continue;
      const auto& v = picture.bgr.at<cv::Vec3b>(y, x);
      for (int c = 0; c < 3; ++c) values[static_cast<std::size_t>(c)].push_back(v[c]);
    }
  }
  return median_of(values);
}

/// What nearly all of the panel's own surface stays under.
double usual_departure(const PanelPicture& picture, const cv::Mat& smooth) {
  std::vector<float> norms;
  for (int y = 0; y < smooth.rows; y += 3) {
    for (int x = 0; x < smooth.cols; x += 3) {
      if (picture.inside.at<unsigned char>(y, x))
        norms.push_back(static_cast<float>(cv::norm(smooth.at<cv::Vec3f>(y, x))));
    }
  }
  if (norms.empty()) return 0;
  return geometry::value_of_rank(norms, static_cast<std::size_t>(static_cast<double>(norms.size()) * usual_share));
}

bool may_be_table(const cv::Vec3d& colour, const cv::Vec3d& table) {
  const double a = cv::norm(colour), b = cv::norm(table);
  if (a > brightest * b) return false;
  return a < dark * b || a < black || colour.dot(table) > same_hue * a * b;
}

/// Median colour of the frame of a box grown by a few pixels.
cv::Vec3d around(const PanelPicture& picture, const cv::Rect& box) {
  constexpr int grow = 3;  // px: past the blur of the island
  const cv::Rect outer = cv::Rect(box.x - grow, box.y - grow, box.width + 2 * grow, box.height + 2 * grow) &
                         cv::Rect({0, 0}, picture.bgr.size());
  Channels values;
  for (int y = outer.y; y < outer.br().y; ++y) {
    for (int x = outer.x; x < outer.br().x; ++x) {
      if (y != outer.y && y + 1 != outer.br().y && x != outer.x && x + 1 != outer.br().x) continue;
      for (int c = 0; c < 3; ++c) values[static_cast<std::size_t>(c)].push_back(picture.bgr.at<cv::Vec3b>(y, x)[c]);
    }
  }
  return median_of(values);
}

/// Of the old seam: on a needle row or, when no wider than a needle's hole may tear, where it would go on beyond its end.
bool is_of_row(const panel::DrillHole& hole, const panel::NeedleRow& row) {
  if (geometry::distance_to(row.points, hole.centre, false) < beside_row) return true;
  if (hole.diameter > small || row.points.size() < 2) return false;
  const std::size_t n = row.points.size(), reach = std::min<std::size_t>(n - 1, row_end);
  for (const bool first : {true, false}) {
    const Vec2 end = first ? row.points.front() : row.points.back();
    const Vec2 out = (end - (first ? row.points[reach] : row.points[n - 1 - reach])).normalized(),
               off = hole.centre - end;
    const double ahead = off.dot(out);
    if (ahead > 0 && ahead < longest_row_break && std::abs(out.x() * off.y() - out.y() * off.x()) < beside_row)
      return true;
  }
  return false;
}

/// One island of the thresholded picture, measured.
std::optional<panel::DrillHole> as_hole(const PanelPicture& picture, const cv::Mat& smooth, const cv::Mat& labels,
                                        int label, const cv::Rect& box, const cv::Vec3d& table, double bare_norm,
                                        double least_height) {
  const double mm = picture.raster.mm_per_px;
  cv::Vec3f mean;
  int n = 0;
  for (int y = box.y; y < box.br().y; ++y) {
    for (int x = box.x; x < box.br().x; ++x) {
      if (labels.at<int>(y, x) != label) continue;
      mean += smooth.at<cv::Vec3f>(y, x);
      ++n;
    }
  }
  mean *= 1.0f / static_cast<float>(n);
  const double norm = cv::norm(mean);
  // Departure along the hole's own direction over a patch around it: the core gives its height, the half of that its area.
  const int reach = static_cast<int>(std::ceil((most_diameter / 2 + ring_to) / mm)) + 1;
  const cv::Rect patch = cv::Rect(box.x - reach, box.y - reach, box.width + 2 * reach, box.height + 2 * reach) &
                         cv::Rect({0, 0}, smooth.size());
  const auto value = [&](int x, int y) { return smooth.at<cv::Vec3f>(y, x).dot(mean) / norm; };
  double height = 0;
  cv::Vec3d core;
  for (int y = box.y; y < box.br().y; ++y) {
    for (int x = box.x; x < box.br().x; ++x) {
      if (value(x, y) <= height) continue;
      height = value(x, y);
      core = cv::Vec3d(picture.bgr.at<cv::Vec3b>(y, x));
    }
  }
  if (height < least_height || !may_be_table(core, table) || cv::norm(core - around(picture, box)) < least_step)
    return std::nullopt;
  double area = 0, sx = 0, sy = 0, sxx = 0, sxy = 0, syy = 0;
  for (int y = box.y - 1; y <= box.br().y; ++y) {
    for (int x = box.x - 1; x <= box.br().x; ++x) {
      if (!cv::Rect({0, 0}, smooth.size()).contains({x, y})) continue;
      const double w = std::clamp(value(x, y) / height, 0.0, 1.0);
      area += w;
      sx += w * x;
      sy += w * y;
      sxx += w * x * x;
      sxy += w * x * y;
      syy += w * y * y;
    }
  }
  const Vec2 centre(sx / area, sy / area);
  panel::DrillHole hole;
  hole.diameter = 2 * std::sqrt(area / M_PI) * mm;
  if (hole.diameter > most_diameter) return std::nullopt;
  if (hole.diameter < small && height < small_weight * least_height) return std::nullopt;
  const double cxx = sxx / area - centre.x() * centre.x(), cxy = sxy / area - centre.x() * centre.y(),
               cyy = syy / area - centre.y() * centre.y();
  const double root = std::sqrt(0.25 * (cxx - cyy) * (cxx - cyy) + cxy * cxy), half = 0.5 * (cxx + cyy);
  if (std::sqrt((half + root) / std::max(1e-9, half - root)) > most_elongation) return std::nullopt;
  int bare = 0, ring = 0;
  for (int y = patch.y; y < patch.br().y; ++y) {
    for (int x = patch.x; x < patch.br().x; ++x) {
      const double off = ((Vec2(x, y) - centre).norm()) * mm - hole.diameter / 2;
      if (off < ring_from || off > ring_to) continue;
      ++ring;
      bare += cv::norm(smooth.at<cv::Vec3f>(y, x)) < std::max(ring_share * norm, bare_norm) &&
              picture.inside.at<unsigned char>(y, x);
    }
  }
  if (ring == 0 || bare < least_bare * ring) return std::nullopt;
  hole.centre = picture.raster.table_from_raster(centre);
  hole.sigma = place_px * mm + place_share * hole.diameter;
  hole.confidence = std::min(1.0, norm / (2 * least_contrast)) * bare / ring;
  return hole;
}

}  // namespace

std::vector<panel::DrillHole> find_drill_holes(const PanelPicture& picture, const std::vector<Stroke>& strokes,
                                               const std::vector<panel::NeedleRow>& rows) {
  const double mm = picture.raster.mm_per_px;
  cv::Mat smooth, far(picture.bgr.size(), CV_8UC1);
  cv::GaussianBlur(picture.departure, smooth, {}, smoothing / mm);
  const auto least = static_cast<float>(least_contrast * least_contrast);
  for (int y = 0; y < smooth.rows; ++y) {
    const auto* row = smooth.ptr<cv::Vec3f>(y);
    auto* out = far.ptr<unsigned char>(y);
    for (int x = 0; x < smooth.cols; ++x) out[x] = row[x].dot(row[x]) > least ? 255 : 0;
  }
  cv::Mat labels, stats, centroids;
  const int count = cv::connectedComponentsWithStats(far, labels, stats, centroids, 8, CV_32S);
  const cv::Vec3d table = table_colour(picture);
  const double usual = usual_departure(picture, smooth), bare_norm = std::max(least_bare_norm, over_bare * usual),
               least_height = std::max(least_contrast, over_usual * usual);
  const int widest = static_cast<int>(std::ceil((most_diameter + skirts) / mm));
  std::vector<panel::DrillHole> holes;
  for (int label = 1; label < count; ++label) {
    const cv::Rect box(stats.at<int>(label, cv::CC_STAT_LEFT), stats.at<int>(label, cv::CC_STAT_TOP),
                       stats.at<int>(label, cv::CC_STAT_WIDTH), stats.at<int>(label, cv::CC_STAT_HEIGHT));
    if (std::max(box.width, box.height) > widest) continue;
    const auto hole = as_hole(picture, smooth, labels, label, box, table, bare_norm, least_height);
    if (!hole) continue;
    const bool in_row =
        std::any_of(rows.begin(), rows.end(), [&](const panel::NeedleRow& r) { return is_of_row(*hole, r); });
    const bool in_stroke = std::any_of(strokes.begin(), strokes.end(), [&](const Stroke& s) {
      const bool is_the_hole = std::all_of(s.points.begin(), s.points.end(), [&](const Vec2& p) {
        return (p - hole->centre).norm() < hole->diameter / 2 + beside_stroke;
      });
      return !is_the_hole && geometry::distance_to(s.points, hole->centre, false) < s.width / 2 + beside_stroke;
    });
    if (!in_row && !in_stroke) holes.push_back(*hole);
  }
  std::sort(holes.begin(), holes.end(), [](const panel::DrillHole& a, const panel::DrillHole& b) {
    return std::tie(a.centre.x(), a.centre.y()) < std::tie(b.centre.x(), b.centre.y());
  });
  return holes;
}

}  // namespace chalkfold::trace
