// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/edge/outline_fit.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "pipeline/common/require.h"
#include "pipeline/geometry/robust.h"
#include "pipeline/trace/edge/light_witness.h"
#include "pipeline/trace/edge/outline_run.h"
#include "pipeline/trace/edge/textured_runs.h"

namespace chalkfold::trace {
namespace {

// fitted: outline_accuracy.py, seeds 9001, 21001, 31001, 41001, and the photographs
constexpr double window = 6;        // mm either side over which neighbouring edges are averaged, robustly; fitted
constexpr double fray_window = 22;  // mm, the same for frayed stretches; fitted
// mm: a stretch that wanders by more about its course (robust standard deviation) is frayed; fitted
constexpr double fray_roughness = 0.12;
constexpr double well_inside = -1.2;  // mm along the normal, the search: beyond, all is panel
constexpr double well_outside = 2.2;  // mm, and wall and contact shadow: beyond, all is table; fitted
constexpr double everywhere = 1e9;    // mm

struct Measured {
  std::vector<double> contrast;
  std::size_t tried = 0, failed = 0;
};

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
        if (p.at(i) < well_inside) {
          inside += std::sqrt(p.weight[i]) * p.linear[i];
          ++n;
        } else if (p.at(i) > well_outside) {
          outside += std::sqrt(p.weight[i]) * p.linear[i];
          ++m;
        }
      }
    }
  }
  return outside / std::max(1.0f, m) - inside / std::max(1.0f, n);
}

/// A mixture of the channels, and the step between panel and table in it, in sigmas, colour counted in.
struct Whitening {
  Eigen::Matrix3f mix;
  double step = 0;
};

/// Mixes the channels so that the unevenness of panel and table is alike and uncorrelated in them: grain and weave mostly vary in brightness, so a
/// difference in colour then counts for more than one in brightness. Not by much where brightness alone tells the edge: JPEG keeps colour at half the
/// resolution, and an edge that rests on colour is drawn towards the shadow's or the wall's side by some tenths of a pixel.
Whitening whitening_of(const std::vector<std::vector<EdgeProfile>>& runs) {
  Eigen::Matrix3f covariance = Eigen::Matrix3f::Zero();
  int count = 0;
  for (const auto& profiles : runs) {
    add_unevenness(profiles, -everywhere, well_inside, covariance, count);
    add_unevenness(profiles, well_outside, everywhere, covariance, count);
  }
  constexpr float floor = 0.004f;      // coded: one step of 8 bits
  constexpr float least_step = 1e-3f;  // sigmas: keeps a quotient finite
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
  // Least variance a mixture is taken to have, as a share of the largest: what keeps colour from counting for more; fitted.
  constexpr float even = 0.45f, by_colour = 0.1f;
  // Steps, in sigmas, at which brightness is a poor and a good enough witness, the less so the more colour would add (fitted).
  constexpr float poor = 8.5f, good = 11.5f;
  const Eigen::Vector3f step = mean_step(runs);
  const float plain = (mixed(even) * step).norm(), coloured = (mixed(by_colour) * step).norm();
  const float witness = plain / std::sqrt(std::max(1.0f, coloured / std::max(plain, least_step)));
  const Eigen::Matrix3f mix =
      mixed(by_colour * std::pow(even / by_colour, std::clamp((witness - poor) / (good - poor), 0.0f, 1.0f)));
  return {mix, static_cast<double>(coloured)};
}

void apply(const Eigen::Matrix3f& mix, std::vector<std::vector<EdgeProfile>>& runs) {
  for (auto& profiles : runs) {
    for (EdgeProfile& p : profiles) {
      for (auto& v : p.linear) v = mix * v;
    }
  }
}

/// mm, 1 standard deviation: where panel and table are nearly alike, the edge is drawn to whatever line in weave or grain lies next to it, though not
/// farther than it is looked for.
double likeness_doubt(double step) {
  constexpr double clear = 9;       // sigmas of unevenness from which on the edge is found by itself; fitted
  constexpr double strength = 0.1;  // mm; fitted
  return std::min(edge_search, strength * std::max(0.0, std::pow(clear / std::max(step, 1.0), 2) - 1));
}

constexpr double followed_sigma = 0.5;     // mm, of follow_boundary
constexpr double long_share = 0.7;         // of the scatter of single places; fitted
constexpr double correction_share = 0.25;  // of how far shadow and wall move the edge; fitted

/// A run's outline: points with sigma, and the scatter of single edge places about them.
struct RunOutline {
  Polyline points;
  std::vector<double> sigma;
  double scatter = 0;
};

/// Adds to sigma what a correction may be off by, the nearest stretch's.
void add_correction_doubt(const OutlineRun& run, const std::vector<Correction>& corrections, RunOutline& outline) {
  if (corrections.empty()) return;
  for (std::size_t i = 0; i < run.along.size(); ++i) {
    const auto near =
        std::min_element(corrections.begin(), corrections.end(), [&](const Correction& a, const Correction& b) {
          return std::abs(a.along - run.along[i]) < std::abs(b.along - run.along[i]);
        });
    outline.sigma[i] = std::hypot(outline.sigma[i], correction_share * near->moved, near->rival);
  }
}

/// Adds to sigma how far the outline wanders about its own course nearby: a cut is smooth over several centimetres, so a bump is fray, a stripe or a stain
/// that was taken for the edge, unless it is a nick.
void add_wander(const OutlineRun& run, RunOutline& outline) {
  constexpr int reach = 12;            // points either side; fitted
  constexpr double most_share = 0.35;  // of a short run: its course is not to be the run itself; fitted
  const double fits = std::min(fray_window, most_share * run.total);
  if (run.along.size() < static_cast<std::size_t>(reach)) return;
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
    outline.sigma[static_cast<std::size_t>(i)] = std::hypot(outline.sigma[static_cast<std::size_t>(i)],
                                                            std::max(near, std::abs(off[static_cast<std::size_t>(i)])));
  }
}

void measure_edges(OutlineRun& run, const std::vector<EdgeProfile>& profiles, const Surroundings& around,
                   const BoundarySampler& sampler, const OutlineFitOptions& o, Measured& measured) {
  constexpr double beside_corner = 1.8;  // mm: there the line across runs along the other side
  constexpr double best = 0.05;          // mm: no single place is better than that; fitted
  constexpr double full2 = 0.01;         // mm2: places better than a tenth of a millimetre count alike; fitted
  for (std::size_t i = 0; i < run.base.size(); ++i) {
    EdgeModel model = bare_model(sampler, run.base[i], run.normals[i], o);
    set_shadow(model, around.light, run.normals[i]);
    model.wall_colour = around.walls.facing(run.normals[i]);
    ++measured.tried;
    const EdgeFit fit = fit_edge(profiles[i], model, -edge_search, edge_search);
    const double to_end = run.closed ? everywhere : std::min(run.along[i], run.total - run.along[i]);
    if (!fit.ok) {
      ++measured.failed;
      continue;
    }
    measured.contrast.push_back(fit.contrast);
    if (to_end < beside_corner) continue;
    const double sigma = std::hypot(fit.sigma, best);
    run.edges.push_back({run.along[i], fit.edge, std::min(1.0, full2 / (sigma * sigma))});
  }
}

/// Joins edge places by local regression. Towards a corner, where neighbours lie on one side only, the window widens.
RunOutline join_edges(const OutlineRun& run) {
  constexpr double few = 2;  // edges, by weight: fewer than a quadratic has parameters
  RunOutline out;
  std::vector<double> scatter;
  for (std::size_t i = 0; i < run.base.size(); ++i) {
    const double to_end = run.closed ? everywhere : std::min(run.along[i], run.total - run.along[i]);
    const double wide = window + std::max(0.0, window - to_end);
    LocalValue v = local_fit(run.edges, run.along[i], wide, run.closed ? run.total : 0);
    // No edge was looked for beyond the search: where too few were found to say anything, the followed boundary stands, with its own doubt.
    if (v.effective < few || std::abs(v.value) > edge_search)
      v = LocalValue{std::clamp(v.value, -edge_search, edge_search), 0, followed_sigma, few};
    out.points.push_back(run.base[i] + v.value * run.normals[i]);
    // Neighbouring places share pixels and threads: about half of them count. Three parameters are fitted.
    const double count = std::max(1.0, 0.5 * v.effective - 1);
    // What scatters single places also bends the edge over longer stretches than the window: grain, weave, a rag of fray.
    out.sigma.push_back(v.scatter * std::sqrt(1 / count + long_share * long_share));
    scatter.push_back(v.scatter);
  }
  out.scatter = geometry::median(scatter);
  return out;
}

/// How far, as a robust standard deviation, an outline wanders about its own course over several centimetres: a frayed edge does, a cut edge does not.
double roughness(const OutlineRun& run, const RunOutline& outline) {
  constexpr std::size_t stride = 3;  // points, for speed
  std::vector<LocalSample> xs, ys;
  for (std::size_t i = 0; i < run.along.size(); ++i) {
    xs.push_back({run.along[i], outline.points[i].x(), 1});
    ys.push_back({run.along[i], outline.points[i].y(), 1});
  }
  std::vector<double> off;
  const double period = run.closed ? run.total : 0;
  for (std::size_t i = 0; i < run.along.size(); i += stride) {
    if (!run.closed && std::min(run.along[i], run.total - run.along[i]) < 0.5 * fray_window) continue;
    const Vec2 course(local_fit(xs, run.along[i], fray_window, period).value,
                      local_fit(ys, run.along[i], fray_window, period).value);
    off.push_back(std::abs(run.normals[i].dot(outline.points[i] - course)));
  }
  return geometry::robust_sigma(std::move(off));
}

/// The course of a frayed run: its edge places regressed in the plane over several centimetres, threads and bites thrown out as outliers.
RunOutline join_frayed(const OutlineRun& run, const RunOutline& close, double rough) {
  // mm: fray wanders over about this length, so a window holds 2 * fray_window / wave independent places; fitted
  constexpr double wave = 8;
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
    out.points.emplace_back(local_fit(xs, s, fray_window, period).value, local_fit(ys, s, fray_window, period).value);
  out.sigma.assign(run.along.size(), std::hypot(rough, close.scatter) / std::sqrt(std::max(1.0, fray_window / wave)));
  out.scatter = std::hypot(rough, close.scatter);
  return out;
}

/// Runs measured: their outlines, and what was learnt on the way.
struct MeasuredRuns {
  std::vector<RunOutline> outlines;
  std::vector<std::vector<PlacedWitness>> placed;
  Surroundings around;
  Measured measured;
};

/// `profiles` whitened. Leaves the edges in the runs.
MeasuredRuns measure_runs(std::vector<OutlineRun>& runs, const std::vector<std::vector<EdgeProfile>>& profiles,
                          const BoundarySampler& sampler, const OutlineFitOptions& options) {
  MeasuredRuns out;
  out.placed.resize(runs.size());
  std::vector<LightWitness> witnesses;
  for (std::size_t r = 0; r < runs.size(); ++r) {
    hear_witnesses(runs[r], profiles[r], sampler, options, out.placed[r]);
    for (const PlacedWitness& w : out.placed[r]) witnesses.push_back(w.heard);
  }
  out.around = learn_surroundings(std::move(witnesses), options.light);
  for (std::size_t r = 0; r < runs.size(); ++r) {
    runs[r].edges.clear();
    measure_edges(runs[r], profiles[r], out.around, sampler, options, out.measured);
    out.outlines.push_back(join_edges(runs[r]));
  }
  return out;
}

/// Measures runs once more without their panel's texture.
MeasuredRuns measure_textured(std::vector<OutlineRun>& runs, std::vector<std::vector<EdgeProfile>> profiles,
                              const Eigen::Matrix3f& mix, const EdgeTextures& textures, const MeasuredRuns& first,
                              const BoundarySampler& sampler, const OutlineFitOptions& options) {
  // mm: a furrow moves an edge by less. What moves farther had been found at the wrong place, and a texture that starts there is none; fitted.
  constexpr double most = 0.4;
  constexpr double thrown_share = 0.5;  // of the move, thrown out: what the edge may be off by; fitted
  for (std::size_t r = 0; r < runs.size(); ++r)
    profiles[r] = without_texture(runs[r], profiles[r], textures.along[r], first.outlines[r].points, sampler, options);
  apply(mix, profiles);
  MeasuredRuns out = measure_runs(runs, profiles, sampler, options);
  for (std::size_t r = 0; r < runs.size(); ++r) {
    for (std::size_t i = 0; i < out.outlines[r].points.size(); ++i) {
      Vec2& point = out.outlines[r].points[i];
      double& sigma = out.outlines[r].sigma[i];
      const double move = (point - first.outlines[r].points[i]).norm();
      if (move > most) {
        point = first.outlines[r].points[i];
        sigma = std::hypot(first.outlines[r].sigma[i], thrown_share * std::min(move, edge_search));
      } else {
        sigma = std::hypot(sigma, correction_share * move);
      }
    }
  }
  return out;
}

}  // namespace

OutlineFit fit_outline(const BoundarySampler& sampler, const Polyline& followed, const OutlineFitOptions& options) {
  require_at_least("points of the boundary", followed.size(), 3);
  OutlineFit fit;
  std::vector<OutlineRun> runs = make_runs(sampler, followed);
  std::vector<Polyline> points(runs.size());
  std::vector<std::vector<double>> sigma(runs.size());
  std::vector<double> scatter, rough;
  std::vector<std::vector<EdgeProfile>> profiles;
  profiles.reserve(runs.size());
  for (const OutlineRun& run : runs) profiles.push_back(sample_run(run, sampler));
  const Whitening whitening = whitening_of(profiles);
  const double alike = likeness_doubt(whitening.step);
  auto whitened = profiles;
  apply(whitening.mix, whitened);
  MeasuredRuns found = measure_runs(runs, whitened, sampler, options);
  for (const auto& placed : found.placed)
    for (const PlacedWitness& w : placed) fit.heard.witnesses.push_back(w.heard);
  fit.heard.light = found.around.light;
  // what the panel's own unevenness does to its edge is told of the panel as it is
  const Measured measured = found.measured;
  std::vector<double> run_scatter;
  for (const RunOutline& o : found.outlines) run_scatter.push_back(o.scatter);
  const EdgeTextures textures = find_textures(runs, profiles, run_scatter, 0.5 * fray_roughness);
  if (textures.count) found = measure_textured(runs, profiles, whitening.mix, textures, found, sampler, options);
  std::vector<RunOutline>& outlines = found.outlines;
  for (std::size_t r = 0; r < runs.size(); ++r)
    rough.push_back(runs[r].total > 3 * fray_window ? roughness(runs[r], outlines[r]) : 0);
  for (std::size_t r = 0; r < runs.size(); ++r) {
    if (rough[r] > fray_roughness) {
      outlines[r] = join_frayed(runs[r], outlines[r], rough[r]);
      fit.frayed += runs[r].total;
    }
    add_correction_doubt(runs[r], corrections(found.placed[r], found.around.light, found.around.walls), outlines[r]);
    add_wander(runs[r], outlines[r]);
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
      constexpr double of_two = 1.4;  // sigmas of a side: where two lines meet squarely both count, sqrt(2)
      sigma[r].insert(sigma[r].begin(), of_two * sigma[r].front());
    }
  }
  for (std::size_t r = 0; r < runs.size(); ++r) {
    if (!runs[r].closed) fit.corners.push_back(fit.contour.points.size());
    fit.contour.points.insert(fit.contour.points.end(), points[r].begin(), points[r].end());
    fit.contour.sigma.insert(fit.contour.sigma.end(), sigma[r].begin(), sigma[r].end());
  }
  fit.contrast = geometry::median(measured.contrast);
  fit.scatter = geometry::median(scatter);
  fit.failed = measured.tried ? static_cast<double>(measured.failed) / static_cast<double>(measured.tried) : 1;
  return fit;
}

}  // namespace chalkfold::trace
