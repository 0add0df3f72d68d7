// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/cuts/notch_opening.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "pipeline/geometry/robust.h"
#include "pipeline/trace/base/second_moments.h"

namespace chalkfold::trace {
namespace {

// fitted: no source but the notches found and invented, as chalkfold_marks_accuracy --renders 200 --seed 1000 tells.
constexpr double resolution = NotchStrip::resolution, start_depth = NotchStrip::start_depth,
                 open_share = NotchStrip::open_share;
// mm, where the panel's colour is read: past fray, deeper than a notch
constexpr double panel_from = 1.6, panel_to = 11;
constexpr double stretch = 12;           // mm either side over which both are read: wider than a notch
constexpr double stretch_step = 6;       // mm: light changes over more
constexpr double bridge = 0.5;           // mm of panel that a cut may be crossed by: a thread
constexpr double least_depth = 1.0;      // mm: less is fray
constexpr int read_every = 3;            // px: neighbours tell the same
constexpr double smoothing_px = 0.8;     // noise goes, a slit of half a mm stays
constexpr std::size_t few_samples = 16;  // fewer say nothing of a colour's spread
// a normal's variance, of that of its nearest four fifths: 1.67 in two channels, 1.48 in three
constexpr double of_trimmed = 1.6;
// of 255, 1 standard deviation: what coding and uneven light add to a colour's own, in the way and of the table
constexpr double coding_step = 2, table_step = 3;

struct Moments {
  Eigen::Vector3d mean = Eigen::Vector3d::Zero();
  Eigen::Matrix3d covariance = Eigen::Matrix3d::Zero();
};

/// Middle of whole numbers 0..255, by counting: for a few hundred of them that is several times as quick as sorting.
int middle_code(const std::vector<Eigen::Vector3d>& colours, int channel) {
  std::array<std::size_t, 256> count{};
  for (const Eigen::Vector3d& c : colours) ++count[static_cast<std::size_t>(c[channel])];
  std::size_t below = 0;
  int code = 0;
  while (below + count[static_cast<std::size_t>(code)] <= colours.size() / 2)
    below += count[static_cast<std::size_t>(code++)];
  return code;
}

/// Robust enough by trimming: the mean and spread of the four fifths of the samples (8-bit colours) nearest to the channelwise median.
Moments moments_of(const std::vector<Eigen::Vector3d>& samples) {
  Moments m;
  if (samples.size() < few_samples) return m;
  Eigen::Vector3d median;
  for (int c = 0; c < 3; ++c) median[c] = middle_code(samples, c);
  std::vector<double> values(samples.size());
  for (std::size_t i = 0; i < samples.size(); ++i) values[i] = (samples[i] - median).squaredNorm();
  const std::size_t kept = samples.size() * 4 / 5;
  std::vector<double> ordered = values;
  const double farthest = geometry::value_of_rank(ordered, kept);
  // Of those just as far as the farthest, as many as there is room for.
  auto ties = kept - static_cast<std::size_t>(
                         std::count_if(values.begin(), values.end(), [&](double v) { return v < farthest; }));
  Eigen::Vector3d sum = Eigen::Vector3d::Zero();
  SecondMoments square;
  for (std::size_t i = 0; i < samples.size(); ++i) {
    if (values[i] > farthest || (values[i] == farthest && ties == 0)) continue;
    if (values[i] == farthest) --ties;
    const Eigen::Vector3d off = samples[i] - median;
    sum += off;
    square.add(off);
  }
  const Eigen::Vector3d mean = sum / static_cast<double>(kept);
  m.mean = median + mean;
  m.covariance = square.sum() / static_cast<double>(kept) - mean * mean.transpose();
  m.covariance *= of_trimmed;
  return m;
}

/// The table's colour, as bright as beside the edge or down to deep in a shadow.
bool is_table(const Eigen::Vector3d& colour, const Eigen::Vector3d& table, const Eigen::Matrix3d& information) {
  // of the brightness beside the edge: shadow in a cut; uneven light
  constexpr double darkest = 0.25, brightest = 1.08;
  constexpr double chi2 = 12;  // 99.3 % of three channels
  const double brightness =
      std::clamp(colour.dot(information * table) / std::max(1e-9, table.dot(information * table)), darkest, brightest);
  const Eigen::Vector3d off = colour - brightness * table;
  return off.dot(information * off) < chi2;
}

/// mm that a column is open from the edge inward: the area that shows the table, up to the first stretch of panel.
double open_depth(const OpenMap& map, const EdgeStrip& strip, int column) {
  const int start = static_cast<int>(std::lround((start_depth - strip.first_depth) / resolution)),
            zero = static_cast<int>(std::lround(-strip.first_depth / resolution));
  if (map.open.at<float>(start, column) < open_share) return 0;
  double area = 0, closed = 0;
  for (int y = zero; y < map.open.rows; ++y) {
    const float open = map.open.at<float>(y, column);
    closed = y > start && open < open_share ? closed + resolution : 0;
    if (closed > bridge) break;
    area += open * resolution;
  }
  return area;
}

}  // namespace

bool OpenMap::table_like(int y, int x) const {
  const auto& v = smooth.at<cv::Vec3b>(y, x);
  const TableThere& there = table[static_cast<std::size_t>(x / step)];
  return is_table(Eigen::Vector3d(v[0], v[1], v[2]), there.colour, there.information);
}

OpenMap open_map(const EdgeStrip& strip) {
  OpenMap map{.open = cv::Mat(strip.bgr.size(), CV_32FC1, cv::Scalar(0)),
              .smooth = {},
              .contrast = std::vector<double>(static_cast<std::size_t>(strip.bgr.cols), 0),
              .table = {}};
  cv::Mat& smooth = map.smooth;
  cv::GaussianBlur(strip.bgr, smooth, {}, smoothing_px);
  const auto row_of = [&](double depth) {
    return std::clamp(static_cast<int>(std::lround((depth - strip.first_depth) / resolution)), 0, smooth.rows - 1);
  };
  const int step = static_cast<int>(stretch_step / resolution), reach = static_cast<int>(stretch / resolution);
  const int zero = row_of(0);
  map.step = step;
  std::vector<Eigen::Vector3d> panel, table;
  for (int from = 0; from < smooth.cols; from += step) {
    panel.clear();
    table.clear();
    const auto gather = [&](std::vector<Eigen::Vector3d>& into, double low, double high) {
      for (int y = row_of(low); y <= row_of(high); y += read_every) {
        for (int x = std::max(0, from + step / 2 - reach); x < std::min(smooth.cols, from + step / 2 + reach);
             x += read_every) {
          const auto& v = smooth.at<cv::Vec3b>(y, x);
          into.emplace_back(v[0], v[1], v[2]);
        }
      }
    };
    gather(panel, panel_from, panel_to);
    gather(table, NotchStrip::table_from, NotchStrip::table_to);
    const Moments p = moments_of(panel), t = moments_of(table);
    const Eigen::Matrix3d within =
        p.covariance + t.covariance + coding_step * coding_step * Eigen::Matrix3d::Identity();
    const Eigen::Vector3d apart = t.mean - p.mean, w = within.ldlt().solve(apart);
    const double between = apart.dot(w);
    map.table.push_back({t.mean, (t.covariance + table_step * table_step * Eigen::Matrix3d::Identity()).inverse()});
    const int to = std::min(smooth.cols, from + step);
    for (int x = from; x < to; ++x) map.contrast[static_cast<std::size_t>(x)] = std::sqrt(between);
    for (int y = zero; y < smooth.rows; ++y) {
      const auto* row = smooth.ptr<cv::Vec3b>(y);
      auto* open = map.open.ptr<float>(y);
      for (int x = from; x < to; ++x) {
        open[x] = static_cast<float>(std::clamp(
            w.dot(Eigen::Vector3d(row[x][0], row[x][1], row[x][2]) - p.mean) / std::max(between, 1e-9), 0.0, 1.0));
      }
    }
  }
  return map;
}

/// mm that a column is open from the edge inward, however little of its width a slit fills.
double open_extent(const OpenMap& map, const EdgeStrip& strip, int column) {
  const int start = static_cast<int>(std::lround((start_depth - strip.first_depth) / resolution));
  double reached = 0, closed = 0;
  for (int y = start; y < map.open.rows && closed <= bridge; ++y) {
    const bool open = map.open.at<float>(y, column) >= open_share;
    closed = open ? 0 : closed + resolution;
    if (open) reached = strip.depth_of(y + 0.5);
  }
  return reached;
}

std::vector<Opening> openings_in(const OpenMap& map, const EdgeStrip& strip) {
  constexpr int gap = 3;  // columns that an opening may be broken by: a thread
  std::vector<Opening> out;
  int last = -gap - 1;
  for (int x = 0; x < map.open.cols; ++x) {
    const double depth = open_depth(map, strip, x);
    if (depth < least_depth) continue;
    if (x - last > gap) out.push_back({x, x, {}});
    Opening& c = out.back();
    while (c.to < x) {
      c.depth.push_back(c.depth.back());
      ++c.to;
    }
    c.depth.push_back(depth);
    c.to = x + 1;
    last = x;
  }
  return out;
}

}  // namespace chalkfold::trace
