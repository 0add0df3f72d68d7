// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/set/set_problem.h"

#include <algorithm>
#include <cmath>

#include "pipeline/draft/set/seam_costs.h"
#include "pipeline/geometry/vectors.h"

namespace chalkfold::draft {
namespace {

constexpr double seam_sigma = 0.01;   // mm: against wear of millimetres as good as a condition, and still well scaled
constexpr double least_sigma = 0.05;  // mm, of an edge: no photo gives better

double edge_sigma(const PieceEdge& edge, double length, const Body& body, const AdjustOptions& options) {
  return std::hypot(std::max(0.5 * edge.U, least_sigma), options.local * body.wear * length);
}

/// Rows of one edge: how far it moves, and how it bends (second differences; a bow of one sigma costs as much as a move of one).
void add_edge(const Piece& piece, const Body& body, std::size_t e, const AdjustOptions& options,
              std::vector<Eigen::MatrixXd>& rows) {
  const ShapeField& field = body.field;
  const std::size_t n = field.control_count(e);
  const double sigma = edge_sigma(piece.edges[e], field.edge_length(e), body, options);
  const double each = 1 / (sigma * std::sqrt(static_cast<double>(n)));
  for (std::size_t i = 0; i < n; ++i) rows.emplace_back(each * field.control(e, i));
  const double spans = static_cast<double>(n - 1), bend = each * spans * spans / 8;
  for (std::size_t i = 1; i + 1 < n; ++i)
    rows.emplace_back(bend * (field.control(e, i - 1) - 2 * field.control(e, i) + field.control(e, i + 1)));
}

/// How the angle at the start of edge e changes.
Eigen::MatrixXd corner_row(const Piece& piece, const Body& body, std::size_t e, double sigma) {
  const std::size_t n = piece.edges.size(), before = (e + n - 1) % n;
  const Vec2 out = piece.edges[e].sew.front().direction(0), in = piece.edges[before].sew.back().direction(1);
  const Eigen::MatrixXd turned =
      geometry::left_of(out).transpose() * body.field.local_slope({e, 0}) -
      geometry::left_of(in).transpose() * body.field.local_slope({before, body.field.edge_length(before)});
  return turned / sigma;
}

/// First-order change of an edge's length, mm.
Eigen::RowVectorXd length_row(const Body& body, std::size_t e) {
  const ArcNodes arc = body.field.arc(e, 0, body.field.edge_length(e));
  Eigen::RowVectorXd row = Eigen::RowVectorXd::Zero(body.size);
  for (std::size_t k = 0; k < arc.weight.size(); ++k)
    row.head(body.field.size()) +=
        arc.weight[k] * arc.tangent[k].transpose() * arc.slope.middleRows(static_cast<Eigen::Index>(2 * k), 2);
  return row;
}

/// The stretch of the piece, and what no wear explains: edges that become longer again.
std::vector<OneSidedCost::Row> wear_rows(const Piece& piece, const Body& body, const AdjustOptions& options) {
  if (options.wear_kind == WearKind::either) return stretch_rows(body, body.wear, body.wear);
  std::vector<OneSidedCost::Row> rows = stretch_rows(body, body.wear, options.growth * body.wear);
  for (std::size_t e = 0; e < body.field.edge_count(); ++e) {
    const double sigma = std::hypot(std::max(0.5 * piece.edges[e].U, least_sigma),
                                    options.growth * body.wear * body.field.edge_length(e));
    rows.push_back({length_row(body, e), 0, sigma});
  }
  return rows;
}

ceres::Solver::Options solver_options() {
  ceres::Solver::Options o;
  o.linear_solver_type = ceres::SPARSE_NORMAL_CHOLESKY;
  o.num_threads = 1;
  o.max_num_iterations = 100;
  o.function_tolerance = 1e-14;
  o.gradient_tolerance = 1e-12;
  o.parameter_tolerance = 1e-12;
  o.logging_type = ceres::SILENT;
  return o;
}

}  // namespace

Eigen::MatrixXd prior_rows(const Piece& piece, const Body& body, const AdjustOptions& options) {
  std::vector<Eigen::MatrixXd> rows;
  if (!body.field.is_bare())
    for (std::size_t e = 0; e < body.field.edge_count(); ++e) {
      add_edge(piece, body, e, options, rows);
      rows.push_back(corner_row(piece, body, e, options.corner_sigma));
    }
  Eigen::Index count = body.size - body.field.size();
  for (const Eigen::MatrixXd& r : rows) count += r.rows();
  Eigen::MatrixXd all = Eigen::MatrixXd::Zero(count, body.size);
  Eigen::Index at = 0;
  for (const Eigen::MatrixXd& r : rows) {
    all.block(at, 0, r.rows(), r.cols()) = r;
    at += r.rows();
  }
  for (Eigen::Index slide = body.field.size(); slide < body.size; ++slide)
    all(at++, slide) = 1 / options.seam.mark_sigma;
  return all;
}

SetSolution solve_set(const std::vector<Piece>& pieces, const std::vector<Body>& bodies,
                      const std::vector<SeamIntervals>& seams, const AdjustOptions& options, int skip) {
  SetSolution solution;
  for (const Body& body : bodies) solution.q.emplace_back(Eigen::VectorXd::Zero(body.size));
  ceres::Problem problem;
  std::vector<ceres::ResidualBlockId> priors;
  for (std::size_t b = 0; b < bodies.size(); ++b) {
    const Body& body = bodies[b];
    double* q = solution.q[b].data();
    if (Eigen::MatrixXd rows = prior_rows(pieces[body.piece], body, options); rows.rows() > 0)
      priors.push_back(problem.AddResidualBlock(new LinearCost(std::move(rows)), nullptr, q));
    priors.push_back(
        problem.AddResidualBlock(new OneSidedCost(wear_rows(pieces[body.piece], body, options)), nullptr, q));
    if (body.fixed) problem.SetParameterBlockConstant(q);
  }
  for (std::size_t s = 0; s < seams.size(); ++s) {
    if (static_cast<int>(s) == skip) continue;
    for (const BodyInterval& interval : seams[s].intervals) {
      const std::size_t a = interval.a.body, b = interval.b.body;
      auto* cost = new IntervalCost(interval, seam_sigma, bodies[a].size, bodies[b].size);
      if (a == b)
        problem.AddResidualBlock(cost, nullptr, solution.q[a].data());
      else
        problem.AddResidualBlock(cost, nullptr, solution.q[a].data(), solution.q[b].data());
    }
  }
  ceres::Solver::Summary summary;
  ceres::Solve(solver_options(), &problem, &summary);
  solution.usable = summary.IsSolutionUsable();
  solution.message = summary.message;
  if (!solution.usable) return solution;
  ceres::Problem::EvaluateOptions of_priors;
  of_priors.residual_blocks = priors;
  problem.Evaluate(of_priors, &solution.cost, nullptr, nullptr, nullptr);
  for (const SeamIntervals& seam : seams) {
    double most = 0, force = 0;
    for (const BodyInterval& i : seam.intervals) {
      if (bodies[i.a.body].fixed && bodies[i.b.body].fixed) continue;  // nothing can move; the seam's tolerance decides
      const double off = std::abs(length_of(i.a, solution.q[i.a.body].data()) -
                                  length_of(i.b, solution.q[i.b.body].data()) - i.wanted);
      most = std::max(most, off);
      force += off / (seam_sigma * seam_sigma);
    }
    solution.left.push_back(most);
    solution.force.push_back(force);
  }
  return solution;
}

}  // namespace chalkfold::draft
