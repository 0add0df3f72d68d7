// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/edge/boundary_path.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numbers>
#include <opencv2/core.hpp>

#include "pipeline/geometry/polygon.h"
#include "pipeline/trace/base/local_fit.h"
#include "pipeline/trace/base/table_colours.h"
#include "pipeline/trace/edge/coded_colour.h"
#include "pipeline/trace/edge/outline_fit_options.h"
#include "pipeline/trace/edge/path_search.h"

namespace chalkfold::trace {
namespace {

using Colour = Eigen::Vector3f;

// fitted: outline_accuracy.py, seeds 9001, 21001, 31001, 41001, and the photographs
constexpr double across_step = 0.25;  // mm: a pixel or so of a photograph of a table
constexpr double rounding = 1e-9;     // mm: so that the last sample of a line is one

/// Index into rows of a length laid end to end.
std::size_t at_row(int row, int length, int column) {
  return static_cast<std::size_t>(row) * static_cast<std::size_t>(length) + static_cast<std::size_t>(column);
}

/// Lines across the boundary, in coded values (0..1), row by row.
struct Strip {
  int rows = 0, columns = 0;
  double first = 0;
  std::vector<Colour> coded;
  /// as coded
  std::vector<bool> paper;
  /// nats, as coded: what is known of panel against all else
  std::vector<float> prior;
  bool on_paper(int row, int column) const { return paper[at_row(row, columns, column)]; }
  const Colour& at(int row, int column) const { return coded[at_row(row, columns, column)]; }
};

Strip sample_strip(const BoundarySampler& sampler, const Polyline& base, const Polyline& normals,
                   const BoundaryPathOptions& o) {
  Strip strip;
  strip.rows = static_cast<int>(base.size());
  strip.first = -(o.search + o.context);
  for (std::size_t i = 0; i < base.size(); ++i) {
    const EdgeProfile p =
        sampler.profile(base[i], normals[i], strip.first, o.search + o.context + rounding, across_step, 1, 0);
    strip.columns = static_cast<int>(p.linear.size());
    for (const auto& v : p.linear) strip.coded.push_back(coded_of(v));
    for (std::size_t k = 0; k < p.linear.size(); ++k) {
      strip.paper.push_back(!p.covered.empty() && p.covered[k]);
      strip.prior.push_back(o.trust > 0 ? o.trust * o.prior.at(base[i] + p.at(k) * normals[i]) : 0);
    }
  }
  return strip;
}

struct LocalColour {
  Colour mean = Colour::Zero();
  Eigen::Matrix3f inverse = Eigen::Matrix3f::Identity();
  float log_norm = 0;
  /// false: paper hid it, or it is not what it should be
  bool known = true;
};

// Coded. Light changes brightness from place to place, colour hardly.
constexpr float brightness_floor = 0.02f;  // five steps of 8 bits; fitted

/// Colour statistics of columns [from, to) around every row, over a window of rows, circular.
std::vector<LocalColour> local_colours(const Strip& s, int from, int to, int reach) {
  std::vector<Colour> sum(static_cast<std::size_t>(s.rows), Colour::Zero());
  std::vector<float> seen(static_cast<std::size_t>(s.rows), 0);
  std::vector<Eigen::Matrix3f> square(static_cast<std::size_t>(s.rows), Eigen::Matrix3f::Zero());
  for (int r = 0; r < s.rows; ++r) {
    for (int c = from; c < to; ++c) {
      if (s.on_paper(r, c)) continue;
      ++seen[static_cast<std::size_t>(r)];
      sum[static_cast<std::size_t>(r)] += s.at(r, c);
      square[static_cast<std::size_t>(r)] += s.at(r, c) * s.at(r, c).transpose();
    }
  }
  std::vector<LocalColour> out(static_cast<std::size_t>(s.rows));
  const int window = std::min(2 * reach + 1, s.rows);
  float n = 0;
  Colour total = Colour::Zero();
  Eigen::Matrix3f total_square = Eigen::Matrix3f::Zero();
  const auto wrap = [&](int r) { return static_cast<std::size_t>(((r % s.rows) + s.rows) % s.rows); };
  for (int r = -reach; r < -reach + window; ++r) {
    n += seen[wrap(r)];
    total += sum[wrap(r)];
    total_square += square[wrap(r)];
  }
  for (int r = 0; r < s.rows; ++r) {
    LocalColour& l = out[static_cast<std::size_t>(r)];
    constexpr float least_seen = 0.15f;  // of the window that paper leaves: about a centimetre of line; fitted
    const float count = std::max(n, 1.0f);
    l.known = n > least_seen * static_cast<float>(window * (to - from));
    l.mean = total / count;
    const Eigen::Matrix3f covariance =
        total_square / count - l.mean * l.mean.transpose() + coded_noise * coded_noise * Eigen::Matrix3f::Identity() +
        (brightness_floor * brightness_floor - coded_noise * coded_noise) / 3 * Eigen::Matrix3f::Ones();
    l.inverse = covariance.inverse();
    l.log_norm = -0.5f * std::log(std::max(covariance.determinant(), 1e-12f));
    n += seen[wrap(r - reach + window)] - seen[wrap(r - reach)];
    total += sum[wrap(r - reach + window)] - sum[wrap(r - reach)];
    total_square += square[wrap(r - reach + window)] - square[wrap(r - reach)];
  }
  return out;
}

float distance2(const LocalColour& l, const Colour& mean, const Colour& v) {
  const Colour d = v - mean;
  return d.dot(l.inverse * d);
}

float log_density(const LocalColour& l, const Colour& mean, const Colour& v) {
  return l.log_norm - 0.5f * distance2(l, mean, v);
}

/// All colours of a side, wherever along the boundary: a stripe along the edge has another colour than the panel just inside it, but one that meets the
/// edge elsewhere.
class Palette {
 public:
  Palette(const Strip& s, int from, int to) {
    constexpr int parts = 4, samples = 4000;  // colours: two of a pattern, chalk and shade; samples for speed
    constexpr double stray = 0.08;  // of a side: chalk, holes, and where the coarse boundary lay too far out; fitted
    cv::Mat colours(s.rows, to - from, CV_8UC3), mask(s.rows, to - from, CV_8U, cv::Scalar(255));
    for (int r = 0; r < s.rows; ++r) {
      for (int c = from; c < to; ++c) {
        const Colour v = codes * s.at(r, c);
        colours.at<cv::Vec3b>(r, c - from) = {cv::saturate_cast<uchar>(v[0]), cv::saturate_cast<uchar>(v[1]),
                                              cv::saturate_cast<uchar>(v[2])};
        if (s.on_paper(r, c)) mask.at<uchar>(r, c - from) = 0;
      }
    }
    colours_ = ColourMixture::fit(colours, mask, parts,
                                  Eigen::Vector3d::Constant(codes * static_cast<double>(coded_noise)), samples);
    colours_.drop_strays(stray);
  }
  /// log density, less a penalty for lying elsewhere along the boundary.
  float log_density(const Colour& v) const {
    constexpr double penalty = 1.0;  // nats; fitted
    if (colours_.empty()) return -1e9f;
    return static_cast<float>(colours_.log_density(codes * v.cast<double>()) + 3 * std::log(1.0 * codes) +
                              1.5 * std::log(2 * std::numbers::pi) - penalty);
  }

  /// Squared Mahalanobis distance to the nearest of them.
  float distance2(const Colour& v) const {
    return colours_.empty() ? 1e9f : static_cast<float>(colours_.distance2(codes * v.cast<double>()));
  }

  /// Is this mean colour one of the side's? What is but a small part of it is not: a gap of table between panel and paper, a stroke of chalk.
  bool holds(const Colour& mean) const {
    return colours_.empty() || !surely_other(colours_.distance2(codes * mean.cast<double>()));
  }

 private:
  static constexpr int codes = 255;  // of 8 bits, to coded 1

  ColourMixture colours_;
};

// log density of what is neither panel nor table: chalk, thread, the cut side. e^-1 in a unit of coded colour cubed; fitted.
constexpr float neither = -1;
// nats: the most that one sample says for panel or table; fitted
constexpr float certain = 2.5f;

/// What is neither may be a blurred edge: as much evidence as leads to the middle of it, for the side that the colour is nearer to.
float nearer(const Colour& panel, const Colour& table, const Colour& v) {
  constexpr float most = 0.5f;  // nats; fitted
  const Colour step = table - panel;
  const float share = (v - panel).dot(step) / std::max(step.squaredNorm(), 1e-6f);
  return most * std::clamp(1 - 2 * share, -1.0f, 1.0f);
}

/// log likelihood of panel against table (bare or in shadow) for one colour, clipped. What is neither says little either way.
float panel_evidence(const LocalColour& panel, const Palette& panels, const LocalColour& table, const Palette& tables,
                     const Colour& v) {
  constexpr float shadow_penalty = 1.0f;  // nats; fitted
  constexpr float darkest_shade = 0.5f;   // coded: a quarter of the light; fitted
  float as_panel = std::max(neither, panels.log_density(v)), as_table = neither;
  if (panel.known) as_panel = std::max(as_panel, log_density(panel, panel.mean, v));
  if (!table.known) {
    as_table = std::max(as_table, tables.log_density(v));
    for (const float shade : {0.85f, 0.7f, 0.55f})  // coded, down to the darkest; fitted
      as_table = std::max(as_table, tables.log_density(v / shade) - shadow_penalty);
  } else {
    // The shade under which it is likest.
    const Colour towards = table.inverse * table.mean;
    const float shade = std::clamp(towards.dot(v) / towards.dot(table.mean), darkest_shade, 1.0f);
    as_table = std::max(
        {as_table, log_density(table, table.mean, v), log_density(table, shade * table.mean, v) - shadow_penalty});
  }
  const bool blend = as_panel == neither && as_table == neither && panel.known && table.known;
  return blend ? nearer(panel.mean, table.mean, v) : std::clamp(as_panel - as_table, -certain, certain);
}

/// What a colour says against showing the cut side. Without it a side that looks like panel could lie on either side of the cut: what is won inside
/// is lost outside. The panel's face says less than the open table, for a side may be of the face's own material.
float wall_cost(const LocalColour& panel, const Palette& panels, const LocalColour& table, const Palette& tables,
                const Colour& v) {
  constexpr float face_cost = 0.6f, table_cost = 1.2f;  // nats, against what is `certain`; fitted
  const auto like = [&](float to_side2) { return std::max(0.0f, 1 - to_side2 / static_cast<float>(surely_other2)); };
  const float to_face2 = panels.distance2(v), to_local_face2 = panel.known ? distance2(panel, panel.mean, v) : to_face2,
              to_table2 = table.known ? distance2(table, table.mean, v) : tables.distance2(v);
  return face_cost * like(std::min(to_face2, to_local_face2)) + table_cost * like(to_table2);
}

/// Cost of cutting each row at each searched column: what is inside should look like panel, what is outside (beyond the wall) should not.
std::vector<float> cut_costs(const Strip& s, const std::vector<int>& wall_columns, int lowest, int states,
                             const BoundaryPathOptions& o) {
  constexpr double neighbourhood = 12;  // mm along the boundary either side, of one colour; fitted
  constexpr float least_panel = 0.2f;   // nats a sample, of a line's inside that looks like panel; fitted
  const int context = static_cast<int>(std::lround(o.context / across_step));
  const int reach = static_cast<int>(std::lround(neighbourhood / outline_spacing));
  auto panel = local_colours(s, 0, context, reach);
  const auto table = local_colours(s, s.columns - context, s.columns, reach);
  const Palette panels(s, 0, context), tables(s, s.columns - context, s.columns);
  for (LocalColour& l : panel) l.known = l.known && panels.holds(l.mean);
  std::vector<float> costs(at_row(s.rows, states, 0));
  // Sums over the columns before each: evidence for panel, and cost of showing the wall.
  const std::size_t sums = static_cast<std::size_t>(s.columns) + 1;
  std::vector<float> before(sums, 0.0f), no_wall(sums, 0.0f);
  for (int r = 0; r < s.rows; ++r) {
    const auto i = static_cast<std::size_t>(r);
    for (int c = 0; c < s.columns; ++c) {
      const auto k = static_cast<std::size_t>(c);
      const Colour& v = s.at(r, c);
      before[k + 1] = before[k] + s.prior[at_row(r, s.columns, c)] +
                      (s.on_paper(r, c) ? -certain : panel_evidence(panel[i], panels, table[i], tables, v));
      if (wall_columns[i] > 0) no_wall[k + 1] = no_wall[k] + wall_cost(panel[i], panels, table[i], tables, v);
    }
    // A line along a chalk mark does not look like panel even well inside: it says nothing of where the boundary is.
    if (before[static_cast<std::size_t>(context)] < least_panel * static_cast<float>(context))
      std::fill(before.begin(), before.end(), 0.0f);
    for (int k = 0; k < states; ++k) {
      const std::size_t cut = static_cast<std::size_t>(lowest) + static_cast<std::size_t>(k);
      const std::size_t beyond = std::min(cut + static_cast<std::size_t>(wall_columns[i]), sums - 1);
      costs[at_row(r, states, k)] = -before[cut] + (before.back() - before[beyond]) + (no_wall[beyond] - no_wall[cut]);
    }
  }
  return costs;
}

/// Replaces places that stand off their neighbourhood's course: tufts of thread, bites and nicks shorter than a centimetre. A corner loses its
/// tip to this by a millimetre or so, which the outline fit gives back.
std::vector<double> without_short_bumps(const std::vector<double>& offsets) {
  constexpr double window = 15;       // mm; fitted
  constexpr double stands_off = 0.6;  // mm: twice the step of the search and then some; fitted
  std::vector<LocalSample> samples;
  for (std::size_t i = 0; i < offsets.size(); ++i)
    samples.push_back({outline_spacing * static_cast<double>(i), offsets[i], 1});
  std::vector<double> out = offsets;
  for (std::size_t i = 0; i < offsets.size(); ++i) {
    const double course =
        local_fit(samples, samples[i].at, window, outline_spacing * static_cast<double>(offsets.size())).value;
    if (std::abs(offsets[i] - course) > stands_off) out[i] = course;
  }
  return out;
}

}  // namespace

Polyline smooth_closed(const Polyline& closed, double sigma) {
  constexpr double sigmas = 3;  // of the Gaussian that is kept: 99.7 % of it
  const int n = static_cast<int>(closed.size()), reach = std::min(static_cast<int>(std::ceil(sigmas * sigma)), n / 2);
  std::vector<double> kernel;
  double sum = 0;
  for (int d = -reach; d <= reach; ++d) {
    kernel.push_back(std::exp(-0.5 * d * d / (sigma * sigma)));
    sum += kernel.back();
  }
  Polyline out(closed.size(), Vec2::Zero());
  for (int i = 0; i < n; ++i) {
    int from = i - reach + n;
    for (const double weight : kernel)
      out[static_cast<std::size_t>(i)] += weight / sum * closed[static_cast<std::size_t>(from++ % n)];
  }
  return out;
}

Polyline right_normals(const Polyline& closed, int reach) {
  const int n = static_cast<int>(closed.size());
  Polyline normals;
  for (int i = 0; i < n; ++i) {
    const Vec2 along =
        closed[static_cast<std::size_t>((i + reach) % n)] - closed[static_cast<std::size_t>((i - reach + n) % n)];
    normals.push_back(Vec2(along.y(), -along.x()).normalized());
  }
  return normals;
}

namespace {

// nats: neighbouring samples share light, grain and blur; fitted: demo scenes 995001 to 995016
constexpr double temperature = 5;
constexpr int normal_reach = 3;      // points either side, over which a normal is read; fitted
constexpr double fewest_lines = 16;  // of a boundary: a colour's neighbourhood is 25
constexpr double base_sigma = 2.0;   // mm along, over which the coarse contour's steps are smoothed; fitted

/// The coarse contour often takes the cut side in, and often does not: half its width inside, either is within reach.
Polyline without_half_wall(const BoundarySampler& sampler, const Polyline& coarse) {
  constexpr double coarse_sigma = 3;  // points of a raster's contour, which goes in steps of 45 degrees; fitted
  constexpr int coarse_reach = 4;     // points, the same
  const Polyline normals = right_normals(smooth_closed(coarse, coarse_sigma), coarse_reach);
  Polyline out;
  for (std::size_t i = 0; i < coarse.size(); ++i)
    out.push_back(coarse[i] - 0.5 * std::max(0.0, sampler.wall_shown(coarse[i], normals[i])) * normals[i]);
  return out;
}

/// One pass. `at_limit`: lines whose cut lies at the edge of the search.
FollowedBoundary follow_once(const BoundarySampler& sampler, const Polyline& coarse, const BoundaryPathOptions& o,
                             int& at_limit) {
  const auto count =
      static_cast<std::size_t>(std::max(fewest_lines, std::round(geometry::length(coarse, true) / outline_spacing)));
  const Polyline base = smooth_closed(geometry::resample_closed(coarse, count), base_sigma / outline_spacing);
  const Polyline normals = right_normals(base, normal_reach);
  const Strip strip = sample_strip(sampler, base, normals, o);
  std::vector<int> walls;
  for (std::size_t i = 0; i < base.size(); ++i)
    walls.push_back(
        static_cast<int>(std::lround(std::max(0.0, sampler.wall_shown(base[i], normals[i])) / across_step)));
  // A cut before column c lies half a step inside that column's sample.
  const int lowest = static_cast<int>(std::lround(o.context / across_step));
  const int states = static_cast<int>(std::lround(2 * o.search / across_step)) + 1;
  const RingPath found = cheapest_ring(cut_costs(strip, walls, lowest, states, o), strip.rows, states,
                                       static_cast<int>(std::lround(edge_search / across_step)), temperature);
  const std::vector<int>& path = found.columns;
  std::vector<double> offsets;
  for (std::size_t i = 0; i < base.size(); ++i) offsets.push_back(strip.first + (lowest + path[i] - 0.5) * across_step);
  offsets = without_short_bumps(offsets);
  FollowedBoundary out;
  at_limit =
      static_cast<int>(std::count_if(path.begin(), path.end(), [&](int k) { return k <= 1 || k >= states - 2; }));
  for (std::size_t i = 0; i < base.size(); ++i) {
    out.points.push_back(base[i] + offsets[i] * normals[i]);
    out.rival.push_back(across_step * found.spread[i]);
  }
  return out;
}

}  // namespace

FollowedBoundary follow_boundary(const BoundarySampler& sampler, const Polyline& coarse, const BoundaryPathOptions& o) {
  constexpr int rounds = 3;  // of following
  // mm of boundary at the limit of the search: the coarse contour was farther off than that, so look again from here; fitted
  constexpr double stretch = 6;
  int at_limit = 0;
  FollowedBoundary out = follow_once(sampler, without_half_wall(sampler, coarse), o, at_limit);
  for (int round = 1; round < rounds && at_limit * outline_spacing > stretch; ++round)
    out = follow_once(sampler, out.points, o, at_limit);
  return out;
}

}  // namespace chalkfold::trace
