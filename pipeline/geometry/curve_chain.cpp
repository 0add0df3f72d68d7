// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/curve_chain.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "pipeline/common/check_option.h"
#include "pipeline/common/require.h"
#include "pipeline/geometry/robust.h"
#include "pipeline/geometry/vectors.h"

namespace chalkfold::geometry {
namespace {

using Eigen::MatrixXd;
using Eigen::VectorXd;

/// sin(x) / x
double sinc(double x) { return std::abs(x) < 1e-4 ? 1 - x * x / 6 : std::sin(x) / x; }

CurveChain::Node end_of(const CurveChain::Node& start, const CurveChain::Part& part) {
  const double half = part.straight ? 0 : 0.5 * part.turn;
  return {start.point + part.length * sinc(half) * unit(start.direction + half), start.direction + 2 * half};
}

/// Left distance of a point from the circle (or line) that leaves `node` towards `ahead` with this curvature.
double left_distance(const Vec2& p, const CurveChain::Node& node, const Vec2& ahead, double curvature) {
  const Vec2 d = p - node.point;
  const double v = left_of(ahead).dot(d);
  const double a = v - 0.5 * curvature * d.squaredNorm();
  return 2 * a / (1 + std::sqrt(std::max(0.0, 1 - 2 * curvature * a)));
}

VectorXd parameters(const CurveChain& chain) {
  std::vector<double> values{chain.start.x(), chain.start.y(), chain.direction};
  for (const CurveChain::Part& part : chain.parts) {
    values.push_back(part.length);
    if (!part.straight) values.push_back(part.turn);
  }
  return Eigen::Map<VectorXd>(values.data(), static_cast<Eigen::Index>(values.size()));
}

CurveChain with(CurveChain chain, const VectorXd& values) {
  chain.start = values.head<2>();
  chain.direction = values[2];
  Eigen::Index i = 3;
  for (CurveChain::Part& part : chain.parts) {
    part.length = values[i++];
    if (!part.straight) part.turn = values[i++];
  }
  return chain;
}

double wrapped(double angle) { return std::remainder(angle, 2 * std::numbers::pi); }

void add_end(std::vector<double>& c, const ChainEnd& end, const CurveChain::Node& node, double reach) {
  if (end.point) {
    const Vec2 off = node.point - *end.point;
    if (end.slides)
      c.push_back(left_of(*end.slides).dot(off));
    else
      c.insert(c.end(), {off.x(), off.y()});
  }
  if (end.direction) c.push_back(reach * wrapped(node.direction - *end.direction));
}

/// The conditions' violations, mm (angles times the chain's length).
VectorXd conditions(const CurveChain& chain, const ChainFitOptions& options, double reach) {
  std::vector<double> c;
  const auto nodes = chain.nodes();
  add_end(c, options.start, nodes.front(), reach);
  if (options.closed)
    add_end(c, {nodes.front().point, nodes.front().direction, {}}, nodes.back(), reach);
  else
    add_end(c, options.end, nodes.back(), reach);
  return Eigen::Map<VectorXd>(c.data(), static_cast<Eigen::Index>(c.size()));
}

/// Tukey's biweight: points further than 4.685 robust standard deviations count nothing.
std::vector<double> robust_weights(const std::vector<double>& residuals, const std::vector<double>& weight,
                                   double least) {
  std::vector<double> size(residuals.size());
  std::transform(residuals.begin(), residuals.end(), size.begin(), [](double r) { return std::abs(r); });
  const double limit = std::max(4.685 * sigma_from_median_size * median(std::move(size)), least);
  std::vector<double> w(residuals.size());
  for (std::size_t i = 0; i < w.size(); ++i) {
    const double q = residuals[i] / limit;
    w[i] = std::abs(q) < 1 ? weight[i] * (1 - q * q) * (1 - q * q) : 0;
  }
  return w;
}

double cost_of(const std::vector<double>& residuals, const std::vector<double>& w) {
  double sum = 0;
  for (std::size_t i = 0; i < w.size(); ++i) sum += w[i] * residuals[i] * residuals[i];
  return sum;
}

bool sound(const CurveChain& chain) {
  for (const CurveChain::Part& part : chain.parts)
    if (!(part.length > 1e-3) || !std::isfinite(part.turn) || std::abs(part.turn) > 2.2 * std::numbers::pi)
      return false;
  return chain.start.allFinite() && std::isfinite(chain.direction);
}

/// The part that each point belongs to: as the first guess has it, or the one it lies beside.
std::vector<std::size_t> parts_of(const CurveChain& chain, const std::vector<CurveChain::Node>& node,
                                  const Polyline& points, bool as_guessed) {
  std::vector<std::size_t> of;
  of.reserve(points.size());
  Polyline heading;
  for (const CurveChain::Node& n : node) heading.push_back(unit(n.direction));
  std::size_t k = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const auto past = [&](std::size_t n) {
      if (as_guessed) return i >= chain.parts[n].from_point;
      const Vec2 d = points[i] - node[n].point;
      return heading[n].dot(d) > 0 && d.norm() < 0.6 * chain.parts[n].length + (points[i] - node[n - 1].point).norm();
    };
    while (k + 1 < chain.parts.size() && past(k + 1)) ++k;
    of.push_back(k);
  }
  return of;
}

double curvature(const CurveChain::Part& part) { return part.straight ? 0 : part.turn / part.length; }

std::vector<double> distances(const CurveChain& chain, const Polyline& points, bool as_guessed) {
  const auto node = chain.nodes();
  const auto part = parts_of(chain, node, points, as_guessed);
  std::vector<double> d(points.size());
  Polyline heading;
  for (const CurveChain::Node& n : node) heading.push_back(unit(n.direction));
  for (std::size_t i = 0; i < points.size(); ++i)
    d[i] = left_distance(points[i], node[part[i]], heading[part[i]], curvature(chain.parts[part[i]]));
  return d;
}

struct Linearised {
  VectorXd residual, condition;
  MatrixXd residual_by, condition_by;
};

/// What a part does to all that comes after it, worked out once.
struct PartMotion {
  /// at its start; of its end for its length and for its turn
  Vec2 heading, by_length, by_turn;
  /// curvature
  double bend = 0;
};

std::vector<PartMotion> motions(const CurveChain& chain, const std::vector<CurveChain::Node>& node) {
  std::vector<PartMotion> all;
  for (std::size_t j = 0; j < chain.parts.size(); ++j) {
    const CurveChain::Part& p = chain.parts[j];
    PartMotion m{unit(node[j].direction), (node[j + 1].point - node[j].point) / p.length, Vec2::Zero(), curvature(p)};
    if (!p.straight) {
      const double half = 0.5 * p.turn;  // the part's end: L sinc(half) at direction + half
      const double slope = std::abs(half) < 1e-4 ? -half / 3 : (std::cos(half) - sinc(half)) / half;
      const Vec2 along = unit(node[j].direction + half);
      m.by_turn = 0.5 * p.length * (slope * along + sinc(half) * left_of(along));
    }
    all.push_back(m);
  }
  return all;
}

/// How the distances change with the parameters: minus what the curve's foot moves along its left normal. All that comes after a
/// node turns about it and shifts with it; an own part's bend moves its foot by (1 - cos(k s)) / k^2 for each unit of curvature k.
void differentiate(Linearised& l, const CurveChain& chain, const Polyline& points, bool as_guessed) {
  const auto node = chain.nodes();
  const auto part = parts_of(chain, node, points, as_guessed);
  const auto motion = motions(chain, node);
  l.residual_by.setZero();
  for (std::size_t i = 0; i < points.size(); ++i) {
    const auto row = static_cast<Eigen::Index>(i);
    const PartMotion& own = motion[part[i]];
    const Vec2 d = points[i] - node[part[i]].point;
    const double k = own.bend, ahead = own.heading.dot(d), beside = left_of(own.heading).dot(d);
    const Vec2 tangent = (Vec2((1 - k * beside) * own.heading + k * ahead * left_of(own.heading))).normalized();
    const Vec2 normal = left_of(tangent);
    const auto turning = [&](const Vec2& about) { return -normal.dot(left_of(points[i] - about)); };
    l.residual_by(row, 0) = -normal.x();
    l.residual_by(row, 1) = -normal.y();
    l.residual_by(row, 2) = turning(node[0].point);
    Eigen::Index column = 3;
    for (std::size_t j = 0; j < part[i]; ++j) {
      l.residual_by(row, column++) = -normal.dot(motion[j].by_length);
      if (!chain.parts[j].straight)
        l.residual_by(row, column++) = turning(node[j + 1].point) - normal.dot(motion[j].by_turn);
    }
    if (chain.parts[part[i]].straight) continue;
    const double s = std::abs(k) < 1e-9 ? ahead : std::atan2(k * ahead, 1 - k * beside) / k;
    const double bend = -0.5 * s * s * sinc(0.5 * k * s) * sinc(0.5 * k * s), whole = chain.parts[part[i]].length;
    l.residual_by(row, column) = -bend * k / whole;
    l.residual_by(row, column + 1) = bend / whole;
  }
}

Linearised linearise(const CurveChain& chain, const Polyline& points, const ChainFitOptions& options, double reach,
                     bool as_guessed) {
  const VectorXd values = parameters(chain);
  const std::vector<double> r = distances(chain, points, as_guessed);
  Linearised l{Eigen::Map<const VectorXd>(r.data(), static_cast<Eigen::Index>(r.size())),
               conditions(chain, options, reach),
               {},
               {}};
  l.residual_by.resize(l.residual.size(), values.size());
  differentiate(l, chain, points, as_guessed);
  l.condition_by.resize(l.condition.size(), values.size());
  for (Eigen::Index k = 0; k < values.size() && l.condition.size() > 0; ++k) {
    constexpr double step = 1e-6;
    VectorXd up = values, down = values;
    up[k] += step;
    down[k] -= step;
    l.condition_by.col(k) =
        (conditions(with(chain, up), options, reach) - conditions(with(chain, down), options, reach)) / (2 * step);
  }
  return l;
}

VectorXd step_of(const Linearised& l, const std::vector<double>& w, double damping, const ChainFitOptions& options) {
  const Eigen::Index n = l.residual_by.cols(), m = l.condition.size();
  const auto weight = Eigen::Map<const VectorXd>(w.data(), static_cast<Eigen::Index>(w.size()));
  MatrixXd normal = l.residual_by.transpose() * weight.asDiagonal() * l.residual_by;
  const double mean = std::max(normal.trace() / static_cast<double>(n), 1e-12);
  for (Eigen::Index i = 0; i < n; ++i) normal(i, i) += damping * normal(i, i) + 1e-10 * mean;
  MatrixXd all = MatrixXd::Zero(n + m, n + m);
  all.topLeftCorner(n, n) = normal;
  all.topRightCorner(n, m) = mean * l.condition_by.transpose();
  all.bottomLeftCorner(m, n) = mean * l.condition_by;
  VectorXd right(n + m);
  right.head(n) = -l.residual_by.transpose() * weight.asDiagonal() * l.residual;
  right.tail(m) = -mean * l.condition;
  if (options.closed) return all.fullPivLu().solve(right).head(n);  // a whole circle leaves a condition without effect
  return all.partialPivLu().solve(right).head(n);
}

/// Iterations until the steps are small. Plain least squares first: a chain whose first guess is millimetres off takes good points
/// for outliers.
void approach(CurveChain& chain, const WeightedPoints& points, const ChainFitOptions& options, double reach,
              bool as_guessed, bool robust) {
  double damping = 1e-3;
  // the first two only have to come near
  const int most = robust ? options.most_iterations : options.most_iterations / 3;
  for (int i = 0; i < most; ++i) {
    const Linearised l = linearise(chain, points.points, options, reach, as_guessed);
    const std::vector<double> residuals(l.residual.begin(), l.residual.end());
    const std::vector<double> w =
        robust ? robust_weights(residuals, points.weight, options.least_outlier) : points.weight;
    const double heavy = 1e3 * Eigen::Map<const VectorXd>(w.data(), l.residual.size()).sum();
    const double before = cost_of(residuals, w) + heavy * l.condition.squaredNorm();
    bool moved = false;
    double step_size = 0;
    for (int attempt = 0; attempt < 8 && !moved; ++attempt) {
      const VectorXd step = step_of(l, w, damping, options);
      const CurveChain next = with(chain, parameters(chain) + step);
      if (step.allFinite() && sound(next) &&
          cost_of(distances(next, points.points, as_guessed), w) +
                  heavy * conditions(next, options, reach).squaredNorm() <=
              before * (1 + 1e-9) + 1e-18) {
        chain = next;
        moved = true;
        step_size = step.cwiseAbs().maxCoeff();
        damping = std::max(damping * 0.2, 1e-9);
      } else {
        damping = std::max(damping * 6, 1e-6);
      }
    }
    if (!moved || step_size < (robust ? 1e-4 : 1e-2)) break;
  }
}

/// The conditions to the last digit.
void settle(CurveChain& chain, const WeightedPoints& points, const ChainFitOptions& options, double reach) {
  for (int i = 0; i < 5; ++i) {
    const Linearised l = linearise(chain, points.points, options, reach, false);
    if (l.condition.size() == 0 || l.condition.cwiseAbs().maxCoeff() < 1e-12) break;
    const VectorXd step =
        -l.condition_by.transpose() * (l.condition_by * l.condition_by.transpose()).fullPivLu().solve(l.condition);
    chain = with(chain, parameters(chain) + step);
  }
}

}  // namespace
std::vector<CurveChain::Node> CurveChain::nodes() const {
  std::vector<Node> all{{start, direction}};
  for (const Part& part : parts) all.push_back(end_of(all.back(), part));
  return all;
}

Curve CurveChain::curve() const {
  Curve curve;
  const auto node = nodes();
  for (std::size_t i = 0; i < parts.size(); ++i) {
    CurveSegment s;
    s.from = node[i].point;
    s.to = node[i + 1].point;
    if (!parts[i].straight && std::abs(parts[i].turn) > 1e-7) {
      s.kind = CurveSegment::Kind::arc;
      s.counter_clockwise = parts[i].turn > 0;
      s.centre = s.from + parts[i].length / parts[i].turn * left_of(unit(node[i].direction));
    }
    curve.push_back(s);
  }
  return curve;
}

std::vector<double> distances_from(const CurveChain& chain, const Polyline& points) {
  require_at_least("parts of the chain", chain.parts.size(), 1);
  return distances(chain, points, false);
}

void check(const ChainFitOptions& o) {
  check_option("most iterations of the chain", o.most_iterations, 1, 10000);
  check_option("least outlier of the chain, mm,", o.least_outlier, 1e-6, 1000);
}

std::optional<CurveChain> fit_chain(const CurveChain& first_guess, const WeightedPoints& points,
                                    const ChainFitOptions& options) {
  require_at_least("parts of the chain", first_guess.parts.size(), 1);
  require_at_least("points to follow", points.points.size(), 1);
  require_equal("weights of the points", points.weight.size(), points.points.size());
  require(std::all_of(points.weight.begin(), points.weight.end(), [](double w) { return w > 0; }),
          "a weight of the points is not positive");
  check(options);
  CurveChain chain = first_guess;
  double reach = 0;
  for (const CurveChain::Part& part : chain.parts) reach += part.length;
  approach(chain, points, options, reach, true, false);
  approach(chain, points, options, reach, false, false);
  approach(chain, points, options, reach, false, true);
  settle(chain, points, options, reach);
  const auto part = parts_of(chain, chain.nodes(), points.points, false);
  for (std::size_t k = 1; k < chain.parts.size(); ++k)
    chain.parts[k].from_point = static_cast<std::size_t>(std::lower_bound(part.begin(), part.end(), k) - part.begin());
  const VectorXd left = conditions(chain, options, reach);
  if (!sound(chain) || (left.size() > 0 && left.cwiseAbs().maxCoeff() > 1e-6)) return std::nullopt;
  return chain;
}

}  // namespace chalkfold::geometry
