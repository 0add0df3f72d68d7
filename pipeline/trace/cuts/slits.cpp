// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/cuts/slits.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <iterator>
#include <opencv2/imgproc.hpp>
#include <optional>

#include "pipeline/trace/chalk/own_covariance.h"
#include "pipeline/trace/cuts/notch_opening.h"

namespace chalkfold::trace {
namespace {

// fitted: no source but the slits found and invented, as chalkfold_marks_accuracy --renders 200 --seed 1000 tells.
constexpr double first_from = 0.8, first_to = 2.4;  // mm of depth in which a slit must show: past fray, before it ends
constexpr double flank_from = 1.1, flank_to = 3.0;  // mm beside it, where the material is read: past the cut's blur
constexpr double slit_width = 2.1;                  // mm: full width at half height, blur included; fitted
constexpr double least_contrast = 9;   // standard deviations: of a thousand places none comes near by chance
constexpr std::size_t most_slits = 4;  // on one edge; common practice
constexpr double over_usual = 1.8;     // of the highest peak that is not among them; fitted
constexpr double step = 0.6;           // mm of depth in which it is followed: three px of the strip
constexpr double drift = 0.5;          // mm along per step: 40 degrees off the edge's normal
constexpr double memory = 0.7;         // of the slope so far, against the last step's; fitted
constexpr double fading = 0.45;        // of the contrast at the mouth: less is the end, half and a little noise
constexpr double one_side = 0.5;       // of the contrast, against either side: else it is the border of something
constexpr double half_height = 0.5;    // where its width is read
constexpr double apart = 5;            // mm between slits: nobody cuts them closer
constexpr double brightest = 1.25;     // of the table's colour beside it, which is not quite out of the shadow; fitted
constexpr double same_way = 0.85;      // cosine between a slit's change of colour and the nearest it may have; fitted
constexpr double rounding = 1;         // of 255: what rounding leaves

using Colours = std::vector<Eigen::Vector3d>;

/// Mean colour of each column between two depths.
Colours column_means(const EdgeStrip& strip, double from, double to) {
  const int y0 = static_cast<int>(std::lround((from - strip.first_depth) / strip.mm_per_px)),
            y1 = static_cast<int>(std::lround((to - strip.first_depth) / strip.mm_per_px));
  Colours out(static_cast<std::size_t>(strip.bgr.cols), Eigen::Vector3d::Zero());
  if (y0 < 0 || y1 > strip.bgr.rows) return out;
  for (int y = y0; y < y1; ++y) {
    const auto* row = strip.bgr.ptr<cv::Vec3b>(y);
    for (std::size_t x = 0; x < out.size(); ++x) out[x] += Eigen::Vector3d(row[x][0], row[x][1], row[x][2]) / (y1 - y0);
  }
  return out;
}

/// A column less what is on both its sides; nothing where the sides run off the strip.
std::optional<Eigen::Vector3d> against_sides(const Colours& columns, int x, double mm_per_px) {
  const int low = static_cast<int>(std::lround(flank_from / mm_per_px)),
            high = static_cast<int>(std::lround(flank_to / mm_per_px));
  if (x < high || x + high >= static_cast<int>(columns.size())) return std::nullopt;
  Eigen::Vector3d sides = Eigen::Vector3d::Zero(), left = sides, right = sides;
  const auto u = static_cast<std::size_t>(x);
  for (auto k = static_cast<std::size_t>(low); k <= static_cast<std::size_t>(high); ++k) {
    left += columns[u - k] / (high - low + 1);
    right += columns[u + k] / (high - low + 1);
  }
  sides = 0.5 * (left + right);
  const Eigen::Vector3d middle = (columns[u - 1] + columns[u] + columns[u + 1]) / 3, d = middle - sides;
  if (std::min(d.dot(middle - left), d.dot(middle - right)) < one_side * d.squaredNorm())
    return Eigen::Vector3d(Eigen::Vector3d::Zero());
  return d;
}

/// A slit shows the table, in whatever light, mixed with what is left of the panel: its change from the panel's colour is a * table - b * panel, with a no
/// larger than b or little. What is lighter than that, or of another colour, was drawn on the panel.
bool may_be_open(const Eigen::Vector3d& change, const Eigen::Vector3d& panel, const Eigen::Vector3d& table) {
  const auto along = [&](const Eigen::Vector3d& way) {
    return change.dot(way) / std::max(1e-9, change.norm() * way.norm());
  };
  double best = std::max(along(-panel), along(brightest * table - panel));
  Eigen::Matrix<double, 3, 2> both;
  both << table, -panel;
  const Eigen::Vector2d share =
      (both.transpose() * both + 1e-6 * Eigen::Matrix2d::Identity()).ldlt().solve(both.transpose() * change);
  if (share[0] > 0 && share[0] < brightest * share[1]) best = std::max(best, along(both * share));
  return best > same_way;
}

/// Follows a slit inward from column `x`; depth in mm, and where it ends.
std::pair<double, double> followed(const EdgeStrip& strip, int x, const Eigen::Vector3d& mouth, double most) {
  double depth = first_from, column = x;
  const double enough = fading * mouth.squaredNorm();
  double slope = 0;
  for (double from = first_from; from <= most + 2 * step; from += step) {
    const Colours columns = column_means(strip, from, from + step);
    double best = 0, at = column;
    const int reach = std::max(1, static_cast<int>(std::lround(drift / strip.mm_per_px)));
    for (int k = -reach; k <= reach; ++k) {
      const int c = static_cast<int>(std::lround(column + slope)) + k;
      const auto d = against_sides(columns, c, strip.mm_per_px);
      if (d && d->dot(mouth) > best) {
        best = d->dot(mouth);
        at = c;
      }
    }
    if (best < enough) break;
    slope = memory * slope + (1 - memory) * (at - column);
    column = at;
    depth = from + step;
  }
  return {depth, strip.along_of(column)};
}

}  // namespace

std::vector<SlitSeen> slits_in(const EdgeStrip& strip, double least, double most) {
  const Colours columns = column_means(strip, first_from, first_to),
                table = column_means(strip, NotchStrip::table_from, NotchStrip::table_to);
  Colours differences(columns.size(), Eigen::Vector3d::Zero());
  for (std::size_t x = 0; x < columns.size(); ++x) {
    if (const auto d = against_sides(columns, static_cast<int>(x), strip.mm_per_px)) differences[x] = *d;
  }
  Colours own;
  std::copy_if(differences.begin(), differences.end(), std::back_inserter(own),
               [](const Eigen::Vector3d& d) { return !d.isZero(); });
  const Eigen::Matrix3d information = own_covariance(own, rounding).inverse();
  std::vector<double> contrast;  // of each column
  for (const Eigen::Vector3d& d : differences) contrast.push_back(std::sqrt(d.dot(information * d)));
  std::vector<std::size_t> peaks;
  const auto reach = static_cast<std::size_t>(apart / strip.mm_per_px);
  for (std::size_t x = 0; x < columns.size(); ++x) {
    const double here = contrast[x];
    bool top = here > 0;
    for (std::size_t k = x < reach ? 0 : x - reach; k < std::min(columns.size(), x + reach) && top; ++k)
      top = contrast[k] < here || (contrast[k] == here && k >= x);
    if (top) peaks.push_back(x);
  }
  std::vector<SlitSeen> slits;
  for (const std::size_t x : peaks) {
    if (contrast[x] < least_contrast) continue;
    std::size_t left = x, right = x;
    while (left > 0 && differences[left].dot(differences[x]) > half_height * differences[x].squaredNorm()) --left;
    while (right + 1 < columns.size() &&
           differences[right].dot(differences[x]) > half_height * differences[x].squaredNorm())
      ++right;
    if (strip.along_of(static_cast<double>(right - left)) > slit_width) continue;
    if (!may_be_open(differences[x], columns[x] - differences[x], table[x])) continue;
    const auto [depth, tip] = followed(strip, static_cast<int>(x), differences[x], most);
    if (depth > most) continue;  // chalk
    const double shown = 0.5 * (first_from + first_to), along = strip.along_of(static_cast<double>(x));
    slits.push_back({along - (tip - along) * shown / std::max(1.0, depth - shown), tip, depth, contrast[x]});
  }
  // An edge has a few slits; what is seen more often belongs to the material.
  std::vector<double> heights;
  heights.reserve(slits.size());
  for (const SlitSeen& s : slits) heights.push_back(s.contrast);
  std::sort(heights.rbegin(), heights.rend());
  const double usual = heights.size() > most_slits ? heights[most_slits] : 0;
  std::erase_if(slits, [&](const SlitSeen& s) { return s.depth < least || s.contrast < over_usual * usual; });
  return slits;
}

}  // namespace chalkfold::trace
