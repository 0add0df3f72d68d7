// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/edge/edge_profile.h"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <stdexcept>

#include "pipeline/trace/edge/coded_colour.h"

namespace chalkfold::trace {
namespace {

/// Normal distribution function by table, |error| < 1e-5: it is evaluated some millions of times a photo.
class NormalTable {
 public:
  NormalTable() {
    for (std::size_t i = 0; i < values_.size(); ++i)
      values_[i] = 0.5 * std::erfc(-(static_cast<double>(i) / per_unit - reach) / std::sqrt(2.0));
  }
  /// standard deviations: beyond, on either side, it is 0 and 1 to 1e-9
  static constexpr double reach = 6;
  double operator()(double x) const {
    const double t = (x + reach) * per_unit;
    if (t <= 0) return 0;
    if (t >= static_cast<double>(values_.size() - 1)) return 1;
    const auto i = static_cast<std::size_t>(t);
    return values_[i] + (t - static_cast<double>(i)) * (values_[i + 1] - values_[i]);
  }

 private:
  static constexpr int per_unit = 100;  // linear between: error to 3e-6
  std::array<double, static_cast<std::size_t>(2 * reach * per_unit) + 1> values_{};
};

const NormalTable& normal_table() {
  static const NormalTable table;
  return table;
}

/// Squared slope of the sRGB curve's middle part, d(code)/d(light)^2 with code = light^(1/2.2).
double tone_weight(double light) {
  constexpr double power = -1.1, factor = 0.2066;  // 2 (1/2.2 - 1) and (1/2.2)^2
  return std::pow(std::max(light, 0.0) + darkest_light, power) * factor;
}

/// Density of the normal distribution.
double bell(double x) {
  constexpr double at_zero = 0.3989422804014327;  // 1 / sqrt(2 pi)
  return at_zero * std::exp(-0.5 * x * x);
}

/// Shares of panel, wall and table in the light at distance x from the edge, blurred.
struct Shares {
  double panel, wall, table;
};

// fitted: outline_accuracy.py, seeds 9001, 21001, 31001, 41001, and the photographs
bool wall_counts(const EdgeModel& m) {
  constexpr double least_blurs = 0.3;  // narrower, it is not to be told from a shift of the edge; fitted
  return m.wall > least_blurs * m.blur;
}

// determinant over the product of the diagonal: below, two colours' shares are alike to the rounding of their sums
constexpr double singular = 1e-9;

/// Values of neighbouring samples: roots and quotients of several are worked out together.
constexpr std::size_t most_together = 64;
using Row = Eigen::Array<double, Eigen::Dynamic, 1, Eigen::ColMajor, most_together, 1>;

/// Shares of its light that the table keeps at distances u from the wall's foot.
Row lit_shares(const Row& u, const EdgeModel& m, const NormalTable& phi) {
  const Row sky = 0.5 * (1 - m.lamp) * (1 - u / (u * u + m.thickness * m.thickness).sqrt()),
            shade = (m.shadow_shift - u) / m.shadow_width;
  Row lit(u.size());
  for (Eigen::Index i = 0; i < u.size(); ++i) lit[i] = 1 - m.lamp * phi(shade[i]) - sky[i];
  return lit;
}

/// Sums of the colours' normal equations: panel, table, wall are rows and columns of `normal`, columns of `right`.
struct ColourSums {
  Mat3 normal = Mat3::Zero(), right = Mat3::Zero();
};

/// A profile as the fits use it. Well inside the panel, and on a table without shadow, shares do not change with the edge: that is most of the samples,
/// and a profile is tried with some dozens of edges up to some thousand, so that sums over them are made once.
class WeightedProfile {
 public:
  explicit WeightedProfile(const EdgeProfile& profile) : first_(profile.first), step_(profile.step) {
    const std::size_t n = profile.linear.size();
    samples_.resize(n + 1);
    for (std::size_t i = 0; i < n; ++i) {
      Sample& s = samples_[i];
      const Vec3 v = profile.linear[i].cast<double>();
      s.weight = static_cast<double>(profile.weight[i]);  // 0 where something else lies
      s.light = s.weight * v;
      square_ += s.light.dot(v);
      samples_[i + 1].weight_before = s.weight_before + s.weight;
      samples_[i + 1].light_before = s.light_before + s.light;
    }
  }

  std::size_t size() const { return samples_.size() - 1; }
  double square() const { return square_; }
  double mean_weight() const { return samples_.back().weight_before / static_cast<double>(size()); }

  ColourSums sums(const EdgeModel& model, double edge) const {
    const bool wall = wall_counts(model);
    const double blurred = NormalTable::reach * model.blur;
    const std::size_t from = first_beyond(edge - blurred), to = first_beyond(edge + blurred + (wall ? model.wall : 0));
    ColourSums out;
    out.normal(0, 0) = samples_[from].weight_before;
    out.right.col(0) = samples_[from].light_before;
    for (std::size_t i = from; i < to; i += most_together)
      add_blurred(i, std::min(to, i + most_together), model, edge, wall, out);
    if (model.lamp > 0) {
      for (std::size_t i = to; i < size(); i += most_together)
        add_open(i, std::min(size(), i + most_together), model, edge, out);
    } else {
      out.normal(1, 1) += samples_.back().weight_before - samples_[to].weight_before;
      out.right.col(1) += samples_.back().light_before - samples_[to].light_before;
    }
    return out;
  }

 private:
  struct Sample {
    /// its own, and the sum over those before it
    double weight = 0, weight_before = 0;
    /// the same of weight times light
    Vec3 light = Vec3::Zero(), light_before = Vec3::Zero();
  };

  /// Samples [from, to) that the blur brings both panel and table to.
  void add_blurred(std::size_t from, std::size_t to, const EdgeModel& model, double edge, bool wall,
                   ColourSums& out) const {
    constexpr double least_table = 1e-4;  // share below which the shade on it does not matter
    const NormalTable& phi = normal_table();
    const auto count = static_cast<Eigen::Index>(to - from);
    Row x(count), u(count);  // u of the table that is seen: of the samples with enough of it, one after the other
    for (Eigen::Index i = 0; i < count; ++i) x[i] = at(from + static_cast<std::size_t>(i)) - edge;
    const Row off_edge = x / model.blur, off_wall = wall ? Row((x - model.wall) / model.blur) : off_edge;  // blurs
    std::array<Shares, most_together> shares;
    Eigen::Index seen = 0;
    for (Eigen::Index i = 0; i < count; ++i) {
      const double beyond_edge = phi(off_edge[i]), beyond_wall = wall ? phi(off_wall[i]) : beyond_edge;
      shares[static_cast<std::size_t>(i)] = {1 - beyond_edge, beyond_edge - beyond_wall, beyond_wall};
      // Mean place of what the blur brings here from the seen table: exact where the shade is linear over a blur width.
      if (model.lamp > 0 && beyond_wall > least_table)
        u[seen++] = std::max(0.0, x[i] - model.wall + model.blur * bell(off_wall[i]) / beyond_wall);
    }
    const Row lit = lit_shares(u.head(seen), model, phi);
    for (Eigen::Index k = 0, i = 0; k < seen; ++i) {
      Shares& s = shares[static_cast<std::size_t>(i)];
      if (s.table > least_table) s.table *= lit[k++];
    }
    for (std::size_t i = from; i < to; ++i) add_sample(samples_[i], shares[i - from], wall, out);
  }

  static void add_sample(const Sample& sample, const Shares& s, bool wall, ColourSums& out) {
    const double p = sample.weight * s.panel, t = sample.weight * s.table;
    out.normal(0, 0) += p * s.panel;
    out.normal(0, 1) += p * s.table;
    out.normal(1, 1) += t * s.table;
    out.right.col(0) += s.panel * sample.light;
    out.right.col(1) += s.table * sample.light;
    if (!wall) return;
    out.normal(0, 2) += p * s.wall;
    out.normal(1, 2) += t * s.wall;
    out.normal(2, 2) += sample.weight * s.wall * s.wall;
    out.right.col(2) += s.wall * sample.light;
  }

  /// Samples [from, to) of nothing but table, in the shade of panel and wall.
  void add_open(std::size_t from, std::size_t to, const EdgeModel& model, double edge, ColourSums& out) const {
    Row u(static_cast<Eigen::Index>(to - from));
    for (std::size_t i = from; i < to; ++i)
      u[static_cast<Eigen::Index>(i - from)] = std::max(0.0, at(i) - edge - model.wall);
    const Row lit = lit_shares(u, model, normal_table());
    for (std::size_t i = from; i < to; ++i) {
      const double share = lit[static_cast<Eigen::Index>(i - from)];
      out.normal(1, 1) += samples_[i].weight * share * share;
      out.right.col(1) += share * samples_[i].light;
    }
  }

  double at(std::size_t i) const { return first_ + step_ * static_cast<double>(i); }

  std::size_t first_beyond(double x) const {
    const double i = std::ceil((x - first_) / step_);
    return i <= 0 ? 0 : std::min(size(), static_cast<std::size_t>(i));
  }

  double first_, step_, square_ = 0;
  /// and one more, for the sums over all
  std::vector<Sample> samples_;
};

struct Solved {
  double cost = 1e9;
  /// rows panel, table, wall; columns channels
  Eigen::Matrix3d colours = Eigen::Matrix3d::Zero();
  /// mean weight of the samples
  double middle_weight = 0;
};

/// Without a wall two colours are left to be told; nothing where the samples do not tell them apart.
std::optional<Eigen::Matrix3d> two_colours(const ColourSums& sums) {
  const Mat3& n = sums.normal;
  const double det = n(0, 0) * n(1, 1) - n(0, 1) * n(0, 1);
  if (!(det > singular * n(0, 0) * n(1, 1))) return std::nullopt;
  const auto panel = sums.right.col(0).transpose(), table = sums.right.col(1).transpose();
  Eigen::Matrix3d colours = Eigen::Matrix3d::Zero();  // the wall's meets nothing
  colours.row(0) = (n(1, 1) * panel - n(0, 1) * table) / det;
  colours.row(1) = (n(0, 0) * table - n(0, 1) * panel) / det;
  return colours;
}

/// Ties the wall's colour to its learnt one, or to the panel's: where it is a sliver the picture cannot tell. Returns what that adds to the square.
double tie_wall(const EdgeModel& model, ColourSums& sums) {
  // times what the profile itself says: light changes the wall's colour a little from place to place; fitted
  constexpr double learnt_pull = 3;
  constexpr double panel_pull = 0.1;  // the same, of a wall as narrow as the blur towards the panel's colour; fitted
  constexpr double regular = 1e-9;    // keeps the equations solvable where there is no wall
  Mat3& normal = sums.normal;
  double square = 0;
  const bool wall = wall_counts(model);
  if (model.wall_colour && wall) {
    const double pull = learnt_pull * normal(2, 2) + regular;
    normal(2, 2) += pull;
    sums.right.col(2) += pull * *model.wall_colour;
    square = pull * model.wall_colour->squaredNorm();
  } else {
    const double sliver = wall ? std::min(1.0, model.blur * model.blur / (model.wall * model.wall)) : 1.0;
    const double pull = panel_pull * sliver * normal(2, 2) + regular;
    normal(2, 2) += pull;
    normal(0, 2) -= pull;
    normal(0, 0) += pull;
  }
  normal(1, 0) = normal(0, 1);
  normal(2, 0) = normal(0, 2);
  normal(2, 1) = normal(1, 2);
  return square;
}

/// Colours by weighted linear least squares at a given edge.
Solved solve_colours(const WeightedProfile& profile, const EdgeModel& model, double edge) {
  ColourSums sums = profile.sums(model, edge);
  double square = profile.square();
  Solved out;
  out.middle_weight = profile.mean_weight();
  if (const auto two = wall_counts(model) ? std::nullopt : two_colours(sums)) {
    out.colours = *two;
  } else {
    square += tie_wall(model, sums);
    out.colours = sums.normal.ldlt().solve(sums.right.transpose());
  }
  out.cost = std::max(0.0, square - (sums.right.transpose().array() * out.colours.array()).sum()) /
             std::max<double>(1, 3.0 * static_cast<double>(profile.size()));
  return out;
}

double contrast_of(const Solved& s, const EdgeModel& model) {
  const double lit =
      model.lamp > 0 ? lit_shares(Row::Constant(1, std::max(0.0, -model.wall)), model, normal_table())[0] : 1;
  return std::sqrt(s.middle_weight) * (lit * s.colours.row(1) - s.colours.row(0)).norm();
}

/// mm between tried edges: the cost is smooth over a blur width.
double coarse_step(const EdgeModel& model) {
  constexpr double least = 0.12, most = 0.3;  // mm: twenty tries of a search at most, eight at least
  return std::clamp(model.blur, least, most);
}

/// Index and costs of the tried edges from `from` on.
std::vector<double> scan(const WeightedProfile& profile, const EdgeModel& model, double from, double to) {
  std::vector<double> costs;
  const double step = coarse_step(model);
  for (int i = 0; i <= static_cast<int>(std::ceil((to - from) / step)); ++i)
    costs.push_back(solve_colours(profile, model, from + i * step).cost);
  return costs;
}

/// As refine_edge, from a start whose cost is known.
EdgeMinimum refine(const WeightedProfile& profile, const EdgeModel& model, double start, double start_cost, double step,
                   int rounds) {
  constexpr double farthest = 1.5;  // steps: a parabola is not to be believed beyond its points
  constexpr double far = 0.9;       // steps: there the next round goes on with the same step
  const auto cost_at = [&](double e) { return solve_colours(profile, model, e).cost; };
  EdgeMinimum m{start, start_cost, 0};
  for (int round = 0; round < rounds; ++round) {
    const double left = cost_at(m.edge - step), right = cost_at(m.edge + step);
    const double bend = left - 2 * m.cost + right;
    m.curvature = bend / (step * step);
    const double move =
        bend > 0 ? std::clamp(0.5 * (left - right) / bend, -farthest, farthest) : (left < right ? -1.0 : 1.0);
    const double next = m.edge + move * step, next_cost = cost_at(next);
    if (next_cost < m.cost) {
      m.edge = next;
      m.cost = next_cost;
    }
    step *= std::abs(move) > far ? 1.0 : 0.5;
  }
  return m;
}

}  // namespace

EdgeColours edge_colours(const EdgeProfile& light, const EdgeModel& model, double edge) {
  const WeightedProfile profile(light);
  const ColourSums sums = profile.sums(model, edge);
  const Solved solved = solve_colours(profile, model, edge);
  EdgeColours out{solved.colours.row(0).transpose(), solved.colours.row(1).transpose(), Vec3::Zero(), 0};
  const double det = sums.normal(0, 0) * sums.normal(1, 1) - sums.normal(0, 1) * sums.normal(0, 1);
  if (!wall_counts(model) || det < singular * sums.normal(0, 0) * sums.normal(1, 1)) return out;
  // Panel and table eliminated from the wall's row.
  const double a = sums.normal(0, 2), b = sums.normal(1, 2);
  const double to_panel = (a * sums.normal(1, 1) - b * sums.normal(0, 1)) / det,
               to_table = (b * sums.normal(0, 0) - a * sums.normal(0, 1)) / det;
  out.wall_weight = std::max(0.0, sums.normal(2, 2) - to_panel * a - to_table * b);
  out.wall_sum = sums.right.col(2) - to_panel * sums.right.col(0) - to_table * sums.right.col(1);
  return out;
}

EdgeMinimum refine_edge(const EdgeProfile& light, const EdgeModel& model, double start, double step, int rounds) {
  const WeightedProfile profile(light);
  return refine(profile, model, start, solve_colours(profile, model, start).cost, step, rounds);
}

void set_shadow(EdgeModel& model, const TableLight& light, const Vec2& outward) {
  model.lamp = light.lamp;
  model.shadow_shift = model.thickness * light.slant.dot(outward);
  model.shadow_width = std::max(model.thickness * light.spread, 0.5 * model.blur);
}

void set_tone_weights(EdgeProfile& profile) {
  profile.weight.resize(profile.linear.size());
  for (std::size_t i = 0; i < profile.weight.size(); ++i) {
    const bool paper = !profile.covered.empty() && profile.covered[i];
    profile.weight[i] = paper ? 0.0F : static_cast<float>(tone_weight(static_cast<double>(profile.linear[i].mean())));
  }
}

EdgeFit fit_edge(const EdgeProfile& light, const EdgeModel& model, double from, double to) {
  constexpr int rounds = 3;  // of halving the step: to 0.02 mm and a parabola
  EdgeFit fit;
  if (!(to > from)) return fit;
  if (light.weight.size() != light.linear.size()) throw std::logic_error("fit_edge: profile without weights");
  const WeightedProfile profile(light);
  const std::vector<double> costs = scan(profile, model, from, to);
  const int tries = static_cast<int>(costs.size());
  const auto best = static_cast<int>(std::min_element(costs.begin(), costs.end()) - costs.begin());
  if (best == 0 || best == tries - 1) return fit;
  const EdgeMinimum m = refine(profile, model, from + best * coarse_step(model), costs[static_cast<std::size_t>(best)],
                               0.5 * coarse_step(model), rounds);
  const double edge = m.edge, curvature = m.curvature;
  if (!(curvature > 0)) return fit;
  const Solved solved = solve_colours(profile, model, edge);
  fit.edge = edge;
  fit.cost = solved.cost;
  fit.contrast = contrast_of(solved, model);
  // Cost is a mean over 3n values; neighbouring samples share pixels, so only about a third of them count as independent.
  const double independent = static_cast<double>(profile.size());
  fit.sigma = std::sqrt(2 * solved.cost / (curvature * independent));
  fit.ok = fit.contrast > 0 && std::isfinite(fit.sigma);
  return fit;
}

}  // namespace chalkfold::trace
