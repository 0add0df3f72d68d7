// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/notches.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numeric>
#include <opencv2/imgproc.hpp>
#include <optional>

#include "pipeline/trace/slits.h"

namespace chalkfold {
namespace {

constexpr double resolution = 0.2;            // mm per px of the strip
constexpr double outside = 3.2, inside = 13;  // mm of the strip on either side of the edge
constexpr double table_from = -3.0,
                 table_to =
                     -1.1;  // mm, where the table's colour is read: clear of blur and of most of the contact shadow
constexpr double panel_from = 1.6, panel_to = 11;  // mm, where the panel's is
constexpr double stretch = 12;                     // mm either side over which both are read
constexpr double stretch_step = 6;                 // mm
constexpr double start_depth = 0.9;                // mm inside the edge, where a notch must already show
constexpr double open_share = 0.45;                // of the way from panel to table: more is open
constexpr double bridge = 0.5;                     // mm of panel (a thread) that a cut may be crossed by
constexpr double least_mean_open = 0.66;           // of a notch's area: chalk is grainy, a cut is not
constexpr double least_table = 0.35;               // of a notch's area that has the table's colour
constexpr double end_margin = 4;                   // mm from a corner in which nothing is a notch
constexpr double slit_beside = 3;                  // mm from another notch in which a slit is that notch's side
constexpr double splice = 5;                       // mm of outline beside a mouth that the fit may have rounded
constexpr double shape_ratio = 0.62;               // of the widths at 3/4 and 1/4 depth: 1/3 for a V, 0.9 for a U
constexpr double course_step = 0.5;                // mm

/// The table's colour beside a stretch of edge.
struct TableThere {
  Eigen::Vector3d colour;
  Eigen::Matrix3d information;
};

/// How far each pixel of a strip is from panel (0) to table (1), and how well the two can be told at each column. Rows outside the edge are left at 0.
struct OpenMap {
  cv::Mat open;                   // CV_32FC1
  cv::Mat smooth;                 // CV_8UC3, the strip that it was made from
  std::vector<double> contrast;   // by column
  std::vector<TableThere> table;  // by stretch of `step` columns
  int step = 1;
  bool table_like(int y, int x) const;
};

struct Moments {
  Eigen::Vector3d mean = Eigen::Vector3d::Zero();
  Eigen::Matrix3d covariance = Eigen::Matrix3d::Zero();
};

/// Robust enough by halves: the mean and spread of the half of the samples nearest to the channelwise median.
Moments moments_of(std::vector<Eigen::Vector3d>& samples) {
  Moments m;
  if (samples.size() < 16) return m;
  Eigen::Vector3d median;
  for (int c = 0; c < 3; ++c) {
    const auto middle = samples.begin() + static_cast<std::ptrdiff_t>(samples.size() / 2);
    std::nth_element(samples.begin(), middle, samples.end(), [c](const auto& a, const auto& b) { return a[c] < b[c]; });
    median[c] = (*middle)[c];
  }
  const auto kept = samples.begin() + static_cast<std::ptrdiff_t>(samples.size() * 4 / 5);
  std::nth_element(samples.begin(), kept, samples.end(), [&](const auto& a, const auto& b) {
    return (a - median).squaredNorm() < (b - median).squaredNorm();
  });
  const double n = static_cast<double>(kept - samples.begin());
  for (auto s = samples.begin(); s != kept; ++s) m.mean += *s / n;
  for (auto s = samples.begin(); s != kept; ++s) m.covariance += (*s - m.mean) * (*s - m.mean).transpose() / n;
  m.covariance *= 1.6;  // of a normal, for the fifth left out
  return m;
}

/// The table's colour, as bright as beside the edge or down to deep in a shadow.
bool is_table(const Eigen::Vector3d& colour, const Eigen::Vector3d& table, const Eigen::Matrix3d& information) {
  constexpr double darkest = 0.25, brightest = 1.08, chi2 = 12;
  const double brightness =
      std::clamp(colour.dot(information * table) / std::max(1e-9, table.dot(information * table)), darkest, brightest);
  const Eigen::Vector3d off = colour - brightness * table;
  return off.dot(information * off) < chi2;
}

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
  cv::GaussianBlur(strip.bgr, smooth, {}, 0.8);
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
      for (int y = row_of(low); y <= row_of(high); y += 3) {
        for (int x = std::max(0, from + step / 2 - reach); x < std::min(smooth.cols, from + step / 2 + reach); x += 3) {
          const auto& v = smooth.at<cv::Vec3b>(y, x);
          into.emplace_back(v[0], v[1], v[2]);
        }
      }
    };
    gather(panel, panel_from, panel_to);
    gather(table, table_from, table_to);
    const Moments p = moments_of(panel), t = moments_of(table);
    const Eigen::Matrix3d within =
        p.covariance + t.covariance + 4 * Eigen::Matrix3d::Identity();  // steps of 255, squared
    const Eigen::Vector3d apart = t.mean - p.mean, w = within.ldlt().solve(apart);
    const double between = apart.dot(w);
    map.table.push_back({t.mean, (t.covariance + 9 * Eigen::Matrix3d::Identity()).inverse()});
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

/// Depth by column over one candidate.
struct Candidate {
  int from = 0, to = 0;       // columns [from, to)
  std::vector<double> depth;  // of each
  double deepest() const { return *std::max_element(depth.begin(), depth.end()); }
  /// Columns' span, px, at a depth: interpolated first and last crossing, relative to `from`.
  std::optional<std::pair<double, double>> span(double level) const {
    double first = 0, last = 0;
    bool seen = false;
    for (std::size_t i = 0; i < depth.size(); ++i) {
      if (depth[i] < level) continue;
      const double before = i > 0 ? depth[i - 1] : 0, after = i + 1 < depth.size() ? depth[i + 1] : 0;
      if (!seen) first = static_cast<double>(i) - (depth[i] > before ? (depth[i] - level) / (depth[i] - before) : 0);
      seen = true;
      last = static_cast<double>(i) + (depth[i] > after ? std::min(1.0, (depth[i] - level) / (depth[i] - after)) : 0);
    }
    if (!seen) return std::nullopt;
    return std::pair{first, last};
  }
};

std::vector<Candidate> candidates_in(const OpenMap& map, const EdgeStrip& strip) {
  constexpr int gap = 3;  // columns that a candidate may be broken by
  std::vector<Candidate> out;
  int last = -1000;
  for (int x = 0; x < map.open.cols; ++x) {
    const double depth = open_depth(map, strip, x);
    if (depth < 1.0) continue;
    if (x - last > gap) out.push_back({x, x, {}});
    Candidate& c = out.back();
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

/// Means over a candidate, from well inside the edge to most of its depth: how open it is, and the share that has the table's colour.
struct Looks {
  double open = 0, table = 0;
};

Looks looks_of(const OpenMap& map, const EdgeStrip& strip, const Candidate& c) {
  const int start = static_cast<int>(std::lround((start_depth - strip.first_depth) / resolution));
  Looks looks;
  int n = 0;
  for (int x = c.from; x < c.to; ++x) {
    const int rows = static_cast<int>(c.depth[static_cast<std::size_t>(x - c.from)] * 0.8 / resolution);
    for (int y = start; y < start - static_cast<int>(start_depth / resolution) + rows; ++y, ++n) {
      looks.open += map.open.at<float>(std::min(y, map.open.rows - 1), x);
      looks.table += map.table_like(std::min(y, map.open.rows - 1), x);
    }
  }
  if (n > 0) {
    looks.open /= n;
    looks.table /= n;
  }
  return looks;
}

/// Sides of the cut, mm along the base, at a depth.
struct Level {
  double depth, left, right;
};

std::vector<Level> levels_of(const Candidate& c, const EdgeStrip& strip, double deepest) {
  std::vector<Level> levels;
  for (double share = 0.2; share <= 0.901; share += 0.05) {
    if (const auto s = c.span(share * deepest))
      levels.push_back({share * deepest, strip.along_of(c.from + s->first), strip.along_of(c.from + s->second)});
  }
  return levels;
}

/// Straight line value(depth) = a + b depth through some of the levels.
std::pair<double, double> line_through(const std::vector<Level>& levels, double low, double high,
                                       double (*value)(const Level&)) {
  double n = 0, sx = 0, sy = 0, sxx = 0, sxy = 0;
  for (const Level& l : levels) {
    if (l.depth < low || l.depth > high) continue;
    const double y = value(l);
    n += 1;
    sx += l.depth;
    sy += y;
    sxx += l.depth * l.depth;
    sxy += l.depth * y;
  }
  const double det = n * sxx - sx * sx;
  if (std::abs(det) < 1e-12) return {n > 0 ? sy / n : 0, 0};
  return {(sxx * sy - sx * sxy) / det, (n * sxy - sx * sy) / det};
}

struct CutPoint {
  double along, depth;  // mm in the strip
};

/// The shape's sides as points, from one side of the mouth to the other.
std::vector<CutPoint> shape_of(const std::vector<Level>& levels, double deepest, Notch& notch) {
  const double low = 0.18 * deepest, high = 0.72 * deepest;
  const auto left = line_through(levels, low, high, [](const Level& l) { return l.left; });
  const auto right = line_through(levels, low, high, [](const Level& l) { return l.right; });
  const auto middle =
      line_through(levels, low, 0.95 * deepest, [](const Level& l) { return 0.5 * (l.left + l.right); });
  notch.width = std::max(0.0, right.first - left.first);
  std::vector<CutPoint> points = {{left.first, 0}};
  if (notch.shape == NotchShape::vee) {
    // Where the two sides meet; blur keeps the open area from reaching that far.
    const double closing = left.second - right.second;
    notch.depth = closing > 1e-6 ? std::clamp(notch.width / closing, deepest, 1.35 * deepest) : deepest;
    points.push_back({middle.first + middle.second * notch.depth, notch.depth});
  } else if (notch.shape == NotchShape::slit) {
    notch.depth = deepest;
    const double at = middle.first + middle.second * deepest;
    points = {{middle.first - 0.01, 0}, {at, deepest}, {middle.first + 0.01, 0}};
    notch.width = 0;
    return points;
  } else {
    notch.depth = deepest;
    for (const Level& l : levels) {
      if (l.depth > low) points.push_back({l.left, l.depth});
    }
    points.push_back({middle.first + middle.second * deepest, deepest});
    for (auto l = levels.rbegin(); l != levels.rend(); ++l) {
      if (l->depth > low) points.push_back({l->right, l->depth});
    }
  }
  points.push_back({right.first, 0});
  return points;
}

std::optional<NotchCut> as_notch(const Candidate& c, const OpenMap& map, const EdgeStrip& strip,
                                 const NotchOptions& options) {
  if (map.contrast[static_cast<std::size_t>((c.from + c.to) / 2)] < options.least_contrast) return std::nullopt;
  // The deepest few columns together: one alone may be a thread's shadow.
  std::vector<double> sorted = c.depth;
  std::sort(sorted.rbegin(), sorted.rend());
  const std::size_t top = std::min<std::size_t>(sorted.size(), 3);
  const double deepest = std::accumulate(sorted.begin(), sorted.begin() + static_cast<std::ptrdiff_t>(top), 0.0) /
                         static_cast<double>(top);
  const double across = strip.along_of(c.to - c.from);
  if (deepest < options.least_depth || deepest > options.most_depth || across > options.most_width) return std::nullopt;
  const auto half = c.span(0.5 * deepest), quarter = c.span(0.25 * deepest), three = c.span(0.75 * deepest);
  if (!half || !quarter || !three) return std::nullopt;
  const double half_width = strip.along_of(half->second - half->first);
  const Looks looks = looks_of(map, strip, c);
  const double ratio = (three->second - three->first) / std::max(1e-6, quarter->second - quarter->first);
  constexpr double pointed = 0.45;  // a small V is as narrow as a slit at half its depth, but not at its mouth
  const bool slit = half_width < options.slit_width && ratio > pointed;
  if (looks.open < (slit ? open_share : least_mean_open) || (!slit && looks.table < least_table)) return std::nullopt;
  const double at = strip.along_of(0.5 * (c.from + c.to)), end = strip.along_of(strip.bgr.cols);
  if (!strip.base->closed && std::min(at, end - at) < end_margin + half_width / 2) return std::nullopt;
  NotchCut cut;
  Notch& n = cut.notch;
  n.shape = slit ? NotchShape::slit : ratio < shape_ratio ? NotchShape::vee : NotchShape::round;
  if (n.shape == NotchShape::slit && deepest < 2 * half_width) return std::nullopt;
  double cut_depth = deepest;
  if (slit) {
    for (int x = c.from; x < c.to; ++x) cut_depth = std::max(cut_depth, open_extent(map, strip, x));
    if (cut_depth > options.most_depth) return std::nullopt;
  }
  const std::vector<CutPoint> shape = shape_of(levels_of(c, strip, deepest), cut_depth, n);
  if (n.depth < options.least_depth || n.width > options.most_width) return std::nullopt;
  const auto place = [&](const CutPoint& p) {
    return strip.table_from_strip(p.along / strip.mm_per_px, (p.depth - strip.first_depth) / strip.mm_per_px);
  };
  for (const CutPoint& p : shape) cut.course.push_back(place(p));
  cut.from = shape.front().along;
  cut.to = shape.back().along;
  const auto tip = std::max_element(shape.begin(), shape.end(),
                                    [](const CutPoint& a, const CutPoint& b) { return a.depth < b.depth; });
  n.tip = place(*tip);
  n.foot = place({0.5 * (cut.from + cut.to), 0});
  n.sigma = 0.1 + 0.5 * resolution;
  n.confidence = std::min(1.0, looks.open) * std::min(1.0, map.contrast[static_cast<std::size_t>((c.from + c.to) / 2)] /
                                                               (2 * options.least_contrast));
  return cut;
}

NotchCut slit_cut(const SlitSeen& slit, const EdgeStrip& strip) {
  const auto place = [&](double along, double depth) {
    return strip.table_from_strip(along / strip.mm_per_px, (depth - strip.first_depth) / strip.mm_per_px);
  };
  constexpr double apart = 0.01;  // mm, between the cut's two sides: an outline may not touch itself
  NotchCut cut;
  cut.from = slit.mouth - apart;
  cut.to = slit.mouth + apart;
  cut.course = {place(cut.from, 0), place(slit.tip, slit.depth), place(cut.to, 0)};
  cut.notch.shape = NotchShape::slit;
  cut.notch.foot = place(slit.mouth, 0);
  cut.notch.tip = cut.course[1];
  cut.notch.depth = slit.depth;
  cut.notch.sigma = 0.15;
  cut.notch.confidence = std::min(1.0, slit.contrast / 20);
  return cut;
}

double middle_of(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

Polyline evenly(const Polyline& course, double step) {
  Polyline out = {course.front()};
  for (std::size_t i = 1; i < course.size(); ++i) {
    const double run = (course[i] - course[i - 1]).norm();
    const int n = std::max(1, static_cast<int>(std::ceil(run / step)));
    for (int k = 1; k <= n; ++k)
      out.push_back(course[i - 1] + (course[i] - course[i - 1]) * (static_cast<double>(k) / n));
  }
  return out;
}

}  // namespace

std::vector<NotchCut> find_notches(const cv::Mat& photo_bgr, const TableView& view, const EdgeBase& base, double height,
                                   const NotchOptions& options) {
  const EdgeStrip strip = edge_strip(photo_bgr, view, base, height, -outside, inside, resolution);
  const OpenMap map = open_map(strip);
  std::vector<NotchCut> cuts;
  for (const Candidate& c : candidates_in(map, strip)) {
    if (auto cut = as_notch(c, map, strip, options)) cuts.push_back(std::move(*cut));
  }
  for (const SlitSeen& slit : slits_in(strip, options.least_depth, options.most_depth)) {
    const double end = strip.along_of(strip.bgr.cols);
    if (!base.closed && std::min(slit.mouth, end - slit.mouth) < end_margin) continue;
    const bool taken = std::any_of(cuts.begin(), cuts.end(), [&](const NotchCut& cut) {
      return slit.mouth > cut.from - slit_beside && slit.mouth < cut.to + slit_beside;
    });
    if (!taken) cuts.push_back(slit_cut(slit, strip));
  }
  std::sort(cuts.begin(), cuts.end(), [](const NotchCut& a, const NotchCut& b) { return a.from < b.from; });
  return cuts;
}

bool is_drawn(const NotchCut& cut, const Polyline& stroke) {
  constexpr double near = 2.2, beyond = 3.5;  // mm off the tip; of stroke deeper in than the tip
  const Vec2 in = (cut.notch.tip - cut.notch.foot).normalized();
  double deepest = -1e300, off = 1e300;
  for (const Vec2& p : stroke) {
    off = std::min(off, (p - cut.notch.tip).norm());
    deepest = std::max(deepest, (p - cut.notch.tip).dot(in));
  }
  return off < near && deepest > beyond;
}

void cut_notches(Panel& panel, const std::vector<EdgeBase>& bases, const std::vector<std::vector<NotchCut>>& cuts) {
  struct Placed {
    const NotchCut* cut;
    const EdgeBase* base;
    double from, to;  // along the outline, of the part replaced
  };
  const OutlineRuler ruler(panel.outline.points);
  std::vector<Placed> placed;
  for (std::size_t b = 0; b < bases.size(); ++b) {
    const double first = bases[b].along.front();
    const double last = bases[b].along.back();
    for (const NotchCut& cut : cuts[b])
      placed.push_back(
          {&cut, &bases[b], std::max(first, first + cut.from - splice), std::min(last, first + cut.to + splice)});
  }
  std::sort(placed.begin(), placed.end(), [](const Placed& a, const Placed& b) { return a.from < b.from; });
  for (std::size_t i = 0; i + 1 < placed.size(); ++i) {
    if (placed[i].to > placed[i + 1].from)
      placed[i].to = placed[i + 1].from = 0.5 * (placed[i].to + placed[i + 1].from);
  }
  if (placed.empty()) return;

  // Start where no notch is, so that none lies across the first point.
  const double start =
      placed.back().to - ruler.length() < 0 && placed.front().from > 0 ? 0 : placed.front().from - 1e-6;
  Contour out;
  std::vector<std::pair<std::size_t, std::size_t>> ends;
  const std::size_t n = panel.outline.points.size();
  std::vector<double> arc(n);
  for (std::size_t i = 1; i < n; ++i)
    arc[i] = arc[i - 1] + (panel.outline.points[i] - panel.outline.points[i - 1]).norm();
  const auto add = [&](const Vec2& p, double sigma, double U) {
    out.points.push_back(p);
    out.sigma.push_back(sigma);
    out.U.push_back(U);
  };
  const auto add_outline = [&](double from,
                               double to) {  // outline points strictly between two places, from may run over the end
    std::vector<std::pair<double, std::size_t>> order;
    for (std::size_t i = 0; i < n; ++i) {
      for (const double turn : {-ruler.length(), 0.0, ruler.length()}) {
        if (arc[i] + turn > from && arc[i] + turn < to) order.emplace_back(arc[i] + turn, i);
      }
    }
    std::sort(order.begin(), order.end());
    for (const auto& [at, i] : order) add(panel.outline.points[i], panel.outline.sigma[i], panel.outline.U[i]);
  };
  // What the fit made of the notch's sides says nothing of the edge beside it.
  const double sigma = middle_of(panel.outline.sigma), U = middle_of(panel.outline.U);
  double at = start;
  for (const Placed& p : placed) {
    add_outline(at, p.from);
    const double first = p.base->along.front();
    const auto add_base = [&](double from, double to) {
      for (double s = from; s < to - 0.25; s += p.base->spacing) {
        const double k = std::clamp((s - first) / p.base->spacing, 0.0, static_cast<double>(p.base->points.size() - 1));
        const auto i = std::min(static_cast<std::size_t>(k), p.base->points.size() - 2);
        add(p.base->points[i] + (k - static_cast<double>(i)) * (p.base->points[i + 1] - p.base->points[i]), sigma, U);
      }
    };
    add_base(p.from, first + p.cut->from);
    const std::size_t mouth = out.points.size();
    for (const Vec2& c : evenly(p.cut->course, course_step))
      add(c, p.cut->notch.sigma, std::max(U, 2 * p.cut->notch.sigma));
    ends.emplace_back(mouth, out.points.size() - 1);
    add_base(first + p.cut->to + 0.5, p.to);
    at = p.to;
  }
  add_outline(at, start + ruler.length() + 1e-9);
  panel.outline = std::move(out);
  for (std::size_t i = 0; i < placed.size(); ++i) {
    Notch notch = placed[i].cut->notch;
    notch.first = ends[i].first;
    notch.last = ends[i].second;
    panel.marks.notches.push_back(notch);
  }
  const OutlineRuler across(outline_across_notches(panel).points);
  for (Notch& notch : panel.marks.notches) notch.along = across.nearest(notch.foot).along;
}

}  // namespace chalkfold
