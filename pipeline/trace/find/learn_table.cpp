// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/find/learn_table.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "pipeline/geometry/robust.h"

namespace chalkfold::trace {
namespace {

using Pixels = std::vector<cv::Point>;  // row by row

/// Rim cut into sectors by direction from the middle of the raster.
std::vector<Pixels> rim_sectors(const cv::Mat& rim_mask, int count) {
  std::vector<Pixels> sectors(static_cast<std::size_t>(count));
  const double cx = 0.5 * rim_mask.cols, cy = 0.5 * rim_mask.rows;
  for (int y = 0; y < rim_mask.rows; ++y) {
    const auto* rim = rim_mask.ptr<unsigned char>(y);
    for (int x = 0; x < rim_mask.cols; ++x) {
      if (!rim[x]) continue;
      const double turn = (std::atan2(y - cy, x - cx) + std::numbers::pi) / (2 * std::numbers::pi);
      sectors[static_cast<std::size_t>(std::min(count - 1, static_cast<int>(turn * count)))].emplace_back(x, y);
    }
  }
  return sectors;
}

/// A colour as it would be out of a shadow: Lab's three scale with the light, nearly.
Eigen::Vector3d relit(const cv::Vec3b& p, double shade) {
  return {p[0] / shade, lab_grey + (p[1] - lab_grey) / shade, lab_grey + (p[2] - lab_grey) / shade};
}

double distance2_at(const ColourMixture& colours, const cv::Mat& lab, const cv::Point& at, double shade) {
  return colours.distance2(relit(lab.at<cv::Vec3b>(at), shade));
}

double median_distance2(const ColourMixture& colours, const cv::Mat& lab, const Pixels& where, double shade) {
  constexpr std::size_t enough = 200;  // pixels: a median is then good to a tenth of its spread
  std::vector<double> d;
  const std::size_t stride = std::max<std::size_t>(1, where.size() / enough);
  for (std::size_t i = 0; i < where.size(); i += stride) d.push_back(distance2_at(colours, lab, where[i], shade));
  return geometry::median(std::move(d));
}

/// The shade under which a stretch of rim is most like the known table; 1 is none.
double likest_shade(const ColourMixture& colours, const cv::Mat& lab, const Pixels& where, bool shaded) {
  if (!shaded || where.empty()) return 1;
  double best = 1, least = median_distance2(colours, lab, where, 1);
  for (const double shade : {0.9, 0.8, 0.7, 0.6, 0.5}) {  // of lightness; the last is a sixth of the light
    const double d = median_distance2(colours, lab, where, shade);
    if (d >= least) continue;
    least = d;
    best = shade;
  }
  return best;
}

}  // namespace

double median_distance2(const ColourMixture& colours, const cv::Mat& lab, const std::vector<cv::Point>& where) {
  return median_distance2(colours, lab, where, 1);
}

ColourMixture learn_table(const cv::Mat& lab, const TableMasks& masks, bool shaded) {
  // fitted: outline_accuracy.py, seeds 9001, 21001, 31001, 41001, and the photographs
  constexpr int sectors = 24;      // stretches of the rim, 15 degrees each; fitted
  constexpr int parts = 7;         // colours: planks, grain, light that falls off; fitted
  constexpr int least_ring = 500;  // px: 5 cm2, some 70 for each part
  constexpr double stray = 0.04;   // of the sampled area: a rule's end or a tag by a sheet is less, a second plank more
  const std::vector<Pixels> rim = rim_sectors(masks.rim, sectors);
  cv::Mat known = masks.ring.clone();
  const bool rings_enough = cv::countNonZero(known) > least_ring;
  std::vector<bool> taken(sectors, !rings_enough);
  if (!rings_enough) known |= masks.rim;
  const auto fit = [&](const cv::Mat& where) {
    ColourMixture mixture = ColourMixture::fit(lab, where, parts, lab_floor);
    mixture.drop_strays(stray);
    return mixture;
  };
  ColourMixture colours = fit(known);
  const ColourMixture lit = colours;  // a shadow is told by what was lit, never by another shadow
  for (bool grown = rings_enough; grown;) {
    grown = false;
    for (std::size_t i = 0; i < rim.size(); ++i) {
      if (taken[i]) continue;
      const double shade = likest_shade(lit, lab, rim[i], shaded);
      if (surely_other(median_distance2(shade < 1 ? lit : colours, lab, rim[i], shade))) continue;
      taken[i] = true;
      grown = true;
      // Of what lies there only the like of it: a panel's end or a rule may reach into the rim.
      for (const cv::Point& p : rim[i]) {
        if (!surely_other(distance2_at(shade < 1 ? lit : colours, lab, p, shade))) known.at<unsigned char>(p) = 255;
      }
    }
    if (!grown) break;
    colours = fit(known);
  }
  return colours;
}

}  // namespace chalkfold::trace
