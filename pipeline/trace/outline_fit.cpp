// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/outline_fit.h"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "pipeline/geometry/median.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/trace/boundary_path.h"
#include "pipeline/trace/corner_finder.h"
#include "pipeline/trace/light.h"
#include "pipeline/trace/local_fit.h"
#include "pipeline/trace/wall.h"

namespace chalkfold {
namespace {

/// A stretch of boundary between two corners, or the whole of it when there is none (then it closes on itself).
struct Run {
  bool closed = false;
  double total = 0;                ///< mm along the base
  Polyline base, normals;          ///< even steps
  std::vector<double> along;       ///< mm
  std::vector<LocalSample> edges;  ///< edge places found, mm from the base along the normal
};

/// Smooth base line through followed points first..last (circular), by local regression of x and y on the way along.
Run make_run(const Polyline& followed, std::size_t first, std::size_t count, bool closed, const OutlineFitOptions& o) {
  Run run;
  run.closed = closed;
  std::vector<LocalSample> xs, ys;
  double along = 0;
  for (std::size_t i = 0; i < count; ++i) {
    const Vec2& p = followed[(first + i) % followed.size()];
    if (i > 0) along += (p - followed[(first + i - 1) % followed.size()]).norm();
    // The followed boundary cuts corners short: leave out what lies beside them.
    const bool near_end = !closed && count > 12 && (i < 2 || i + 2 >= count);
    xs.push_back({along, p.x(), near_end ? 0.0 : 1.0});
    ys.push_back({along, p.y(), near_end ? 0.0 : 1.0});
  }
  run.total = closed
                  ? along + (followed[first % followed.size()] - followed[(first + count - 1) % followed.size()]).norm()
                  : along;
  const double period = closed ? run.total : 0;
  const auto steps = static_cast<std::size_t>(std::max(3.0, std::round(run.total / o.spacing)));
  const std::size_t points = closed ? steps : steps + 1;
  constexpr double base_window =
      12;  // mm: long enough to iron out the quarter-millimetre steps of the followed boundary
  for (std::size_t i = 0; i < points; ++i) {
    const double s = run.total * static_cast<double>(i) / static_cast<double>(steps);
    const LocalValue x = local_fit(xs, s, base_window, period), y = local_fit(ys, s, base_window, period);
    run.base.emplace_back(x.value, y.value);
    run.normals.push_back(Vec2(y.slope, -x.slope).normalized());
    run.along.push_back(s);
  }
  return run;
}

struct Measured {
  std::vector<double> contrast;
  std::size_t tried = 0, failed = 0;
};

EdgeModel bare_model(const BoundarySampler& sampler, const Vec2& at, const Vec2& normal, const OutlineFitOptions& o) {
  EdgeModel m;
  m.thickness = std::max(o.thickness, 0.1);
  m.blur = o.blur_px * sampler.mm_per_px(at, normal);
  m.wall = sampler.wall_shown(at, normal);
  return m;
}

/// Mean of the profiles in a window, each shifted so that the edges found first lie on zero.
EdgeProfile pooled_profile(const std::vector<EdgeProfile>& profiles, const std::vector<double>& first_edge, int middle,
                           int reach) {
  const int n = static_cast<int>(profiles.size());
  EdgeProfile mean = profiles[static_cast<std::size_t>(middle)];
  std::vector<double> count(mean.linear.size(), 0);
  for (auto& v : mean.linear) v.setZero();
  for (float& w : mean.weight) w = 0;
  for (int d = -reach; d <= reach; ++d) {
    const int j = middle + d;
    if (j < 0 || j >= n) continue;
    const EdgeProfile& p = profiles[static_cast<std::size_t>(j)];
    for (std::size_t i = 0; i < mean.linear.size(); ++i) {
      const double at = (mean.at(i) + first_edge[static_cast<std::size_t>(j)] - p.first) / p.step;
      if (at < 0 || at >= static_cast<double>(p.linear.size() - 1)) continue;
      const auto k = static_cast<std::size_t>(at);
      if (p.weight[k] <= 0 || p.weight[k + 1] <= 0) continue;
      const auto t = static_cast<float>(at - static_cast<double>(k));
      mean.linear[i] += (1 - t) * p.linear[k] + t * p.linear[k + 1];
      mean.weight[i] += (1 - t) * p.weight[k] + t * p.weight[k + 1];
      count[i] += 1;
    }
  }
  EdgeProfile out;
  out.step = mean.step;
  bool started = false;
  for (std::size_t i = 0; i < mean.linear.size(); ++i) {
    if (count[i] < reach) continue;
    if (!started) out.first = mean.at(i);
    started = true;
    out.linear.emplace_back(mean.linear[i] / static_cast<float>(count[i]));
    out.weight.push_back(mean.weight[i] / static_cast<float>(count[i]));
  }
  return out;
}

std::vector<EdgeProfile> sample_run(const Run& run, const BoundarySampler& sampler, const OutlineFitOptions& o) {
  constexpr double step = 0.2;
  constexpr int rays = 3;
  std::vector<EdgeProfile> profiles;
  for (std::size_t i = 0; i < run.base.size(); ++i) {
    profiles.push_back(sampler.profile(run.base[i], run.normals[i], -o.inside, o.outside, step, rays, 0.8 * o.spacing));
    set_tone_weights(profiles.back());
  }
  return profiles;
}

/// Adds to `covariance` how the channels of one side vary together about the mean of neighbouring profiles, tone-weighted.
void add_unevenness(const std::vector<EdgeProfile>& profiles, double from, double to, Eigen::Matrix3f& covariance,
                    int& count) {
  constexpr std::size_t block = 12;  // profiles: slow changes of light along the boundary are not unevenness
  for (std::size_t start = 0; start + block <= profiles.size(); start += block) {
    Eigen::Vector3f mean = Eigen::Vector3f::Zero();
    Eigen::Matrix3f square = Eigen::Matrix3f::Zero();
    int n = 0;
    for (std::size_t r = start; r < start + block; ++r) {
      for (std::size_t i = 0; i < profiles[r].linear.size(); ++i) {
        if (profiles[r].at(i) < from || profiles[r].at(i) > to || profiles[r].weight[i] <= 0) continue;
        const Eigen::Vector3f v = std::sqrt(profiles[r].weight[i]) * profiles[r].linear[i];
        mean += v;
        square += v * v.transpose();
        ++n;
      }
    }
    if (n == 0) continue;
    mean /= static_cast<float>(n);
    covariance += square / static_cast<float>(n) - mean * mean.transpose();
    ++count;
  }
}

/// Step between the two sides, tone-weighted, mean over all profiles.
Eigen::Vector3f mean_step(const std::vector<std::vector<EdgeProfile>>& runs) {
  Eigen::Vector3f inside = Eigen::Vector3f::Zero(), outside = Eigen::Vector3f::Zero();
  float n = 0, m = 0;
  for (const auto& profiles : runs) {
    for (const EdgeProfile& p : profiles) {
      for (std::size_t i = 0; i < p.linear.size(); ++i) {
        if (p.weight[i] <= 0) continue;
        if (p.at(i) < -1.2) {
          inside += std::sqrt(p.weight[i]) * p.linear[i];
          ++n;
        } else if (p.at(i) > 2.2) {
          outside += std::sqrt(p.weight[i]) * p.linear[i];
          ++m;
        }
      }
    }
  }
  return outside / std::max(1.0f, m) - inside / std::max(1.0f, n);
}

/// Mixes the channels so that the unevenness of panel and table is alike and uncorrelated in them: grain and weave mostly vary in brightness, so a
/// difference in colour then counts for more than one in brightness. Not by much where brightness alone tells the edge: JPEG keeps colour at half the
/// resolution, and an edge that rests on colour is drawn towards the shadow's or the wall's side by some tenths of a pixel.
/// Returns the step in sigmas, colour counted in.
double whiten(std::vector<std::vector<EdgeProfile>>& runs) {
  Eigen::Matrix3f covariance = Eigen::Matrix3f::Zero();
  int count = 0;
  for (const auto& profiles : runs) {
    add_unevenness(profiles, -3.0, -1.2, covariance, count);
    add_unevenness(profiles, 2.2, 4.0, covariance, count);
  }
  constexpr float floor = 0.004f;  // coded: one step of 8 bits
  covariance = covariance / static_cast<float>(std::max(1, count)) + floor * floor * Eigen::Matrix3f::Identity();
  const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3f> eigen(covariance);
  const auto mixed = [&](float least_share) -> Eigen::Matrix3f {
    return eigen.eigenvalues()
               .cwiseMax(least_share * eigen.eigenvalues().maxCoeff())
               .cwiseSqrt()
               .cwiseInverse()
               .asDiagonal() *
           eigen.eigenvectors().transpose();
  };
  // Least variance a mixture is taken to have, as a share of the largest: what keeps colour from counting for more.
  constexpr float even = 0.45f, by_colour = 0.1f;
  // Steps, in sigmas, at which brightness is a poor and a good enough witness, the less so the more colour would add (fitted on rendered photographs).
  constexpr float poor = 8.5f, good = 11.5f;
  const Eigen::Vector3f step = mean_step(runs);
  const float plain = (mixed(even) * step).norm(), coloured = (mixed(by_colour) * step).norm();
  const float witness = plain / std::sqrt(std::max(1.0f, coloured / std::max(plain, 1e-3f)));
  const Eigen::Matrix3f mix =
      mixed(by_colour * std::pow(even / by_colour, std::clamp((witness - poor) / (good - poor), 0.0f, 1.0f)));
  for (auto& profiles : runs) {
    for (EdgeProfile& p : profiles) {
      for (auto& v : p.linear) v = mix * v;
    }
  }
  return static_cast<double>(coloured);
}

/// mm, 1 standard deviation: where panel and table are nearly alike, the edge is drawn to whatever line in weave or grain lies next to it.
double likeness_doubt(double step) {
  constexpr double clear =
      9;  // sigmas of unevenness from which on the edge is found by itself, fitted on rendered photographs
  constexpr double strength = 0.1;  // mm, the same
  return strength * std::max(0.0, std::pow(clear / std::max(step, 1.0), 2) - 1);
}

/// An averaged stretch, and where on its run it lies.
struct PlacedWitness {
  double along = 0;  ///< mm
  LightWitness heard;
};

/// Averaged stretches of one run, for learning the light.
void hear_witnesses(const Run& run, const std::vector<EdgeProfile>& profiles, const BoundarySampler& sampler,
                    const OutlineFitOptions& o, std::vector<PlacedWitness>& witnesses) {
  const int n = static_cast<int>(run.base.size());
  constexpr int stride = 40, reach = 15;  // points
  for (int start = 0; start < n; start += stride) {
    const int middle = std::min(start + stride / 2, n - 1);
    std::vector<LocalSample> first;
    std::vector<double> first_edge(run.base.size(), 0);
    for (int i = std::max(0, middle - reach - 6); i < std::min(n, middle + reach + 7); i += 2) {
      const auto k = static_cast<std::size_t>(i);
      const EdgeFit fit =
          fit_edge(profiles[k], bare_model(sampler, run.base[k], run.normals[k], o), -o.search, o.search);
      if (fit.ok) first.push_back({run.along[k], fit.edge, 1});
    }
    if (first.size() < 8) continue;
    for (int i = std::max(0, middle - reach); i <= std::min(n - 1, middle + reach); ++i) {
      first_edge[static_cast<std::size_t>(i)] = local_fit(first, run.along[static_cast<std::size_t>(i)], 8, 0).value;
    }
    const auto m = static_cast<std::size_t>(middle);
    LightWitness w;
    w.profile = pooled_profile(profiles, first_edge, middle, reach);
    w.outward = run.normals[m];
    w.model = bare_model(sampler, run.base[m], run.normals[m], o);
    if (w.profile.linear.size() > 12) witnesses.push_back({run.along[m], std::move(w)});
  }
}

constexpr double followed_sigma = 0.5;  // mm, of follow_boundary
constexpr double long_share = 0.7;      // of the scatter of single places, against truth on rendered photographs

constexpr double correction_share = 0.25;  // of how far shadow and wall move the edge, the same
constexpr double wander_share = 1.0;       // of how far the outline strays from its course nearby, the same

/// A run's outline: points with sigma, and the scatter of single edge places about them.
struct RunOutline {
  Polyline points;
  std::vector<double> sigma;
  double scatter = 0;
};

/// How far shadow and wall moved the edge of each stretch of a run against a bare step: what such a correction may itself be off by is a share of it.
std::vector<LocalSample> corrections(const std::vector<PlacedWitness>& witnesses, const TableLight& light,
                                     const WallColours& walls) {
  std::vector<LocalSample> out;
  for (const PlacedWitness& w : witnesses) {
    const EdgeMinimum bare = refine_edge(w.heard.profile, w.heard.model, 0, 0.2, 5);
    EdgeModel model = w.heard.model;
    set_shadow(model, light, w.heard.outward);
    model.wall_colour = walls.facing(w.heard.outward);
    const EdgeMinimum full = refine_edge(w.heard.profile, model, bare.edge, 0.2, 5);
    out.push_back({w.along, std::min(std::abs(full.edge - bare.edge), 1.0), 1});
  }
  return out;
}

/// Adds to sigma what a correction may be off by, the nearest stretch's.
void add_correction_doubt(const Run& run, const std::vector<LocalSample>& moved, RunOutline& outline) {
  if (moved.empty()) return;
  for (std::size_t i = 0; i < run.along.size(); ++i) {
    const auto near = std::min_element(moved.begin(), moved.end(), [&](const LocalSample& a, const LocalSample& b) {
      return std::abs(a.at - run.along[i]) < std::abs(b.at - run.along[i]);
    });
    outline.sigma[i] = std::hypot(outline.sigma[i], correction_share * near->value);
  }
}

/// Adds to sigma how far the outline wanders about its own course nearby: a cut is smooth over several centimetres, so a bump is fray, a stripe or a stain
/// that was taken for the edge, unless it is a nick.
void add_wander(const Run& run, double window, RunOutline& outline) {
  constexpr int reach = 12;  // points either side
  const double fits = std::min(window, 0.35 * run.total);
  if (run.along.size() < 12) return;
  std::vector<LocalSample> xs, ys;
  for (std::size_t i = 0; i < run.along.size(); ++i) {
    xs.push_back({run.along[i], outline.points[i].x(), 1});
    ys.push_back({run.along[i], outline.points[i].y(), 1});
  }
  const double period = run.closed ? run.total : 0;
  std::vector<double> off;
  for (std::size_t i = 0; i < run.along.size(); ++i) {
    const Vec2 course(local_fit(xs, run.along[i], fits, period).value, local_fit(ys, run.along[i], fits, period).value);
    off.push_back(run.normals[i].dot(outline.points[i] - course));
  }
  const int n = static_cast<int>(off.size());
  for (int i = 0; i < n; ++i) {
    double square = 0;
    int count = 0;
    for (int j = i - reach; j <= i + reach; ++j) {
      if (!run.closed && (j < 0 || j >= n)) continue;
      const double v = off[static_cast<std::size_t>((j + n) % n)];
      square += v * v;
      ++count;
    }
    const double near = std::sqrt(square / std::max(1, count));
    outline.sigma[static_cast<std::size_t>(i)] =
        std::hypot(outline.sigma[static_cast<std::size_t>(i)],
                   wander_share * std::max(near, std::abs(off[static_cast<std::size_t>(i)])));
  }
}

void measure_edges(Run& run, const std::vector<EdgeProfile>& profiles, const TableLight& light,
                   const WallColours& walls, const BoundarySampler& sampler, const OutlineFitOptions& o,
                   Measured& measured) {
  for (std::size_t i = 0; i < run.base.size(); ++i) {
    EdgeModel model = bare_model(sampler, run.base[i], run.normals[i], o);
    set_shadow(model, light, run.normals[i]);
    model.wall_colour = walls.facing(run.normals[i]);
    ++measured.tried;
    const EdgeFit fit = fit_edge(profiles[i], model, -o.search, o.search);
    // Beside a corner the line across runs along the other side.
    const double to_end = run.closed ? 1e9 : std::min(run.along[i], run.total - run.along[i]);
    if (!fit.ok) {
      ++measured.failed;
      continue;
    }
    measured.contrast.push_back(fit.contrast);
    if (to_end < 1.8) continue;
    const double sigma = std::hypot(fit.sigma, 0.05);  // mm: no single place is better than that
    run.edges.push_back({run.along[i], fit.edge, std::min(1.0, 0.01 / (sigma * sigma))});
  }
}

/// Joins edge places by local regression. Towards a corner, where neighbours lie on one side only, the window widens.
RunOutline join_edges(const Run& run, const OutlineFitOptions& o) {
  RunOutline out;
  std::vector<double> scatter;
  for (std::size_t i = 0; i < run.base.size(); ++i) {
    const double to_end = run.closed ? 1e9 : std::min(run.along[i], run.total - run.along[i]);
    const double window = o.window + std::max(0.0, o.window - to_end);
    LocalValue v = local_fit(run.edges, run.along[i], window, run.closed ? run.total : 0);
    // No edge was looked for beyond the search: where too few were found to say anything, the followed boundary stands, with its own doubt.
    if (v.effective < 2 || std::abs(v.value) > o.search)
      v = LocalValue{std::clamp(v.value, -o.search, o.search), 0, followed_sigma, 2};
    out.points.push_back(run.base[i] + v.value * run.normals[i]);
    // Neighbouring places share pixels and threads: about half of them count. Three parameters are fitted.
    const double count = std::max(1.0, 0.5 * v.effective - 1);
    // What scatters single places also bends the edge over longer stretches than the window: grain, weave, a rag of fray.
    out.sigma.push_back(v.effective > 0 ? v.scatter * std::sqrt(1 / count + long_share * long_share) : followed_sigma);
    if (v.effective > 0) scatter.push_back(v.scatter);
  }
  out.scatter = median(scatter);
  return out;
}

/// How far, as a robust standard deviation, an outline wanders about its own course over several centimetres: a frayed edge does, a cut edge does not.
double roughness(const Run& run, const RunOutline& outline, double window) {
  std::vector<LocalSample> xs, ys;
  for (std::size_t i = 0; i < run.along.size(); ++i) {
    xs.push_back({run.along[i], outline.points[i].x(), 1});
    ys.push_back({run.along[i], outline.points[i].y(), 1});
  }
  std::vector<double> off;
  const double period = run.closed ? run.total : 0;
  for (std::size_t i = 0; i < run.along.size(); i += 3) {
    if (!run.closed && std::min(run.along[i], run.total - run.along[i]) < 0.5 * window) continue;
    const Vec2 course(local_fit(xs, run.along[i], window, period).value,
                      local_fit(ys, run.along[i], window, period).value);
    off.push_back(std::abs(run.normals[i].dot(outline.points[i] - course)));
  }
  return 1.4826 * median(off);
}

/// The course of a frayed run: its edge places regressed in the plane over several centimetres, threads and bites thrown out as outliers.
RunOutline join_frayed(const Run& run, const RunOutline& close, double window, double rough) {
  constexpr double wave =
      8;  // mm: fray wanders over about this length, so a window holds 2 * window / wave independent places
  std::vector<LocalSample> xs, ys;
  for (const LocalSample& e : run.edges) {
    const auto i = std::min(run.base.size() - 1,
                            static_cast<std::size_t>(std::lround(
                                e.at / run.total * static_cast<double>(run.base.size() - (run.closed ? 0 : 1)))));
    const Vec2 p = run.base[i] + e.value * run.normals[i];
    xs.push_back({e.at, p.x(), 1});
    ys.push_back({e.at, p.y(), 1});
  }
  RunOutline out;
  const double period = run.closed ? run.total : 0;
  for (const double s : run.along)
    out.points.emplace_back(local_fit(xs, s, window, period).value, local_fit(ys, s, window, period).value);
  out.sigma.assign(run.along.size(), std::hypot(rough, close.scatter) / std::sqrt(std::max(1.0, window / wave)));
  out.scatter = std::hypot(rough, close.scatter);
  return out;
}

/// Intersection of the lines through two ends, or the middle between them when they are nearly parallel or meet far off.
Vec2 corner_between(const Polyline& before, const Polyline& after) {
  const std::size_t arm = std::min<std::size_t>({6, before.size() - 1, after.size() - 1});
  const Vec2 a = before.back(), da = a - before[before.size() - 1 - arm];
  const Vec2 b = after.front(), db = after[arm] - b;
  const double det = da.x() * db.y() - da.y() * db.x();
  const Vec2 middle = 0.5 * (a + b);
  if (std::abs(det) < 0.1 * da.norm() * db.norm()) return middle;
  const Vec2 meet = a + da * (((b - a).x() * db.y() - (b - a).y() * db.x()) / det);
  return (meet - middle).norm() < 4 ? meet : middle;
}

/// Cuts a run's ends back to where they do not pass the corner.
void trim_to_corner(Polyline& points, std::vector<double>& sigma, const Vec2& corner, bool at_end) {
  const auto passed = [&](const Vec2& p, const Vec2& inner) {
    return (p - corner).dot(inner - corner) <= 0 || (p - corner).norm() < 0.3;
  };
  while (points.size() > 3) {
    const std::size_t i = at_end ? points.size() - 1 : 0,
                      inner = at_end ? points.size() - 1 - std::min<std::size_t>(5, points.size() - 1)
                                     : std::min<std::size_t>(5, points.size() - 1);
    if (!passed(points[i], points[inner])) break;
    points.erase(points.begin() + static_cast<std::ptrdiff_t>(i));
    sigma.erase(sigma.begin() + static_cast<std::ptrdiff_t>(i));
  }
}

/// Is the tip of a corner panel or table? Colours between the followed boundary and the tip against panel and table beside the corner.
bool tip_is_panel(const BoundarySampler& sampler, const BoundaryCorner& c) {
  const Vec2 right_before(c.before.y(), -c.before.x()), right_after(c.after.y(), -c.after.x());
  Eigen::Vector3f panel = Eigen::Vector3f::Zero(), table = Eigen::Vector3f::Zero();
  const auto coded = [](const Eigen::Vector3f& v) -> Eigen::Vector3f { return v.cwiseMax(0.0f).cwiseSqrt(); };
  int count = 0;
  for (const double along : {4.0, 6.0, 8.0}) {
    for (const double off : {1.2, 2.0, 2.8}) {
      panel += coded(sampler.colour_at(c.point - along * c.before - off * right_before)) +
               coded(sampler.colour_at(c.point + along * c.after - off * right_after));
      table += coded(sampler.colour_at(c.point - along * c.before + (off + 1) * right_before)) +
               coded(sampler.colour_at(c.point + along * c.after + (off + 1) * right_after));
      count += 2;
    }
  }
  panel /= static_cast<float>(count);
  table /= static_cast<float>(count);
  const Eigen::Vector3f axis = table - panel;
  int like_panel = 0, tried = 0;
  // Inside the tip's triangle, a little off its sides so that blur does not decide.
  for (const double a : {0.35, 0.65, 1.0}) {
    for (const double b : {0.35, 0.65, 1.0}) {
      const Vec2 at = c.point - a * c.cut * c.before + b * c.cut * c.after;
      like_panel += (coded(sampler.colour_at(at)) - panel).dot(axis) < 0.5f * axis.squaredNorm();
      ++tried;
    }
  }
  return 2 * like_panel > tried;
}

std::vector<Run> make_runs(const BoundarySampler& sampler, const Polyline& followed, const OutlineFitOptions& o) {
  const double spacing = length(followed, true) / static_cast<double>(followed.size());
  auto corners = find_corners(followed, spacing, o.corner_arm, o.corner_turn_deg * std::numbers::pi / 180);
  std::erase_if(corners, [&](const BoundaryCorner& c) {
    return c.cut > o.corner_cut || (c.cut > 0.6 && !tip_is_panel(sampler, c));
  });
  std::vector<Run> runs;
  if (corners.empty()) {
    runs.push_back(make_run(followed, 0, followed.size(), true, o));
    return runs;
  }
  for (std::size_t c = 0; c < corners.size(); ++c) {
    const auto first = static_cast<std::size_t>(corners[c].at);
    const auto last = static_cast<std::size_t>(corners[(c + 1) % corners.size()].at);
    const std::size_t count = (last + followed.size() - first) % followed.size();
    runs.push_back(make_run(followed, first, (count == 0 ? followed.size() : count) + 1, false, o));
  }
  return runs;
}

}  // namespace

OutlineFit fit_outline(const BoundarySampler& sampler, const Polyline& followed, const OutlineFitOptions& options) {
  OutlineFit fit;
  std::vector<Run> runs = make_runs(sampler, followed, options);
  Measured measured;
  std::vector<Polyline> points(runs.size());
  std::vector<std::vector<double>> sigma(runs.size());
  std::vector<double> scatter, rough;
  std::vector<RunOutline> outlines;
  std::vector<std::vector<EdgeProfile>> profiles;
  for (const Run& run : runs) profiles.push_back(sample_run(run, sampler, options));
  const double alike = likeness_doubt(whiten(profiles));
  std::vector<std::vector<PlacedWitness>> placed(runs.size());
  std::vector<LightWitness> witnesses;
  for (std::size_t r = 0; r < runs.size(); ++r) {
    hear_witnesses(runs[r], profiles[r], sampler, options, placed[r]);
    for (const PlacedWitness& w : placed[r]) witnesses.push_back(w.heard);
  }
  const TableLight light = learn_light(witnesses);
  for (LightWitness& w : witnesses) set_shadow(w.model, light, w.outward);
  const WallColours walls = learn_walls(witnesses);
  for (std::size_t r = 0; r < runs.size(); ++r) {
    measure_edges(runs[r], profiles[r], light, walls, sampler, options, measured);
    outlines.push_back(join_edges(runs[r], options));
    rough.push_back(runs[r].total > 3 * options.fray_window ? roughness(runs[r], outlines[r], options.fray_window) : 0);
  }
  for (std::size_t r = 0; r < runs.size(); ++r) {
    if (rough[r] > options.fray_roughness) {
      outlines[r] = join_frayed(runs[r], outlines[r], options.fray_window, rough[r]);
      fit.frayed += runs[r].total;
    }
    add_correction_doubt(runs[r], corrections(placed[r], light, walls), outlines[r]);
    add_wander(runs[r], options.fray_window, outlines[r]);
    for (double& s : outlines[r].sigma) s = std::hypot(s, alike);
    points[r] = outlines[r].points;
    sigma[r] = outlines[r].sigma;
    scatter.push_back(outlines[r].scatter);
  }
  for (std::size_t r = 0; r < runs.size(); ++r) {
    if (!runs[r].closed) {
      const std::size_t previous = (r + runs.size() - 1) % runs.size();
      const Vec2 corner = corner_between(points[previous], points[r]);
      trim_to_corner(points[r], sigma[r], corner, false);
      trim_to_corner(points[previous], sigma[previous], corner, true);
      points[r].insert(points[r].begin(), corner);
      sigma[r].insert(sigma[r].begin(), 1.4 * sigma[r].front());
    }
  }
  for (std::size_t r = 0; r < runs.size(); ++r) {
    if (!runs[r].closed) fit.corners.push_back(fit.contour.points.size());
    fit.contour.points.insert(fit.contour.points.end(), points[r].begin(), points[r].end());
    fit.contour.sigma.insert(fit.contour.sigma.end(), sigma[r].begin(), sigma[r].end());
  }
  fit.contrast = median(measured.contrast);
  fit.scatter = median(scatter);
  fit.failed = measured.tried ? static_cast<double>(measured.failed) / static_cast<double>(measured.tried) : 1;
  return fit;
}

}  // namespace chalkfold
