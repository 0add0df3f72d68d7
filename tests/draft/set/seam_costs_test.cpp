// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/set/seam_costs.h"

#include <ceres/gradient_checker.h>
#include <gtest/gtest.h>

#include "pipeline/draft/set/set_problem.h"
#include "tests/draft/sewn_set.h"

namespace chalkfold::draft {
namespace {
using namespace drawn;

std::vector<double> some_values(Eigen::Index size, std::uint32_t seed) {
  std::mt19937 random(seed);
  std::vector<double> q(static_cast<std::size_t>(size));
  for (std::size_t i = 0; i < q.size(); ++i) q[i] = (i < 3 ? 0.01 : 2) * (random() / 2147483648.0 - 1);
  return q;
}

void expect_right_jacobian(const ceres::CostFunction& cost, const std::vector<std::vector<double>>& at,
                           const char* what) {
  ceres::NumericDiffOptions numeric;
  numeric.ridders_relative_initial_step_size = 1e-4;  // the stretch has a kink at 0, which is not to be stepped over
  const std::vector<const ceres::Manifold*> manifolds(at.size(), nullptr);
  ceres::GradientChecker checker(&cost, &manifolds, numeric);
  std::vector<const double*> blocks;
  for (const auto& block : at) blocks.push_back(block.data());
  ceres::GradientChecker::ProbeResults probe;
  // Ceres's own verdict is relative, entry by entry, and an entry that is 0 but for rounding would fail it: hence both Jacobians are
  // compared here, against the largest entry.
  constexpr double relative = 1e-6;
  checker.Probe(blocks.data(), relative, &probe);
  ASSERT_TRUE(probe.return_value) << what;
  ASSERT_EQ(probe.jacobians.size(), at.size());
  for (std::size_t b = 0; b < at.size(); ++b) {
    const double largest = probe.jacobians[b].cwiseAbs().maxCoeff();
    EXPECT_GT(largest, 0) << what;
    EXPECT_LT((probe.jacobians[b] - probe.numeric_jacobians[b]).cwiseAbs().maxCoeff(), relative * largest) << what;
  }
}

class SeamCosts : public testing::Test {
 protected:
  std::vector<Piece> pieces_ = exact_set();
  std::vector<Body> bodies_ = bodies_of(pieces_, 60);
  AdjustOptions options_;
};

TEST_F(SeamCosts, JacobiansOfSeamsAreRight) {
  std::vector<SeamAsked> seams = sewn_seams();
  seams.push_back(seam(4, "front/1-2", "front/3:start-1"));  // one piece with itself, a part of an edge
  seams.back().ease = 30;
  for (const SeamAsked& asked : seams)
    for (const BodyInterval& interval : intervals_of(compare_sides(asked, pieces_), pieces_, bodies_)) {
      const std::size_t a = interval.a.body, b = interval.b.body;
      std::vector<std::vector<double>> at{some_values(bodies_[a].size, 3)};
      if (a != b) at.push_back(some_values(bodies_[b].size, 4));
      expect_right_jacobian(IntervalCost(interval, 0.01, bodies_[a].size, bodies_[b].size), at,
                            to_text(asked.a).c_str());
    }
}

TEST_F(SeamCosts, JacobiansOfPriorsAreRight) {
  for (const Body& body : bodies_) {
    expect_right_jacobian(LinearCost(prior_rows(pieces_[body.piece], body, options_)), {some_values(body.size, 5)},
                          "prior");
    expect_right_jacobian(OneSidedCost(stretch_rows(body, 0.01, 0.001)), {some_values(body.size, 6)}, "stretch");
  }
}

TEST_F(SeamCosts, OneStretchByTheWearCostsOne) {
  const OneSidedCost cost(stretch_rows(bodies_[0], 0.01, 0.001));
  double residuals[8];
  for (double angle : {0.0, 0.3, 1.0, 2.2}) {
    const double c = std::cos(angle), s = std::sin(angle);
    const auto sum = [&](double e) {
      std::vector<double> q(static_cast<std::size_t>(bodies_[0].size), 0.0);
      q[0] = e * c * c;
      q[1] = e * s * s;
      q[2] = e * c * s;
      const double* blocks[1] = {q.data()};
      cost.Evaluate(blocks, residuals, nullptr);
      double squares = 0;
      for (double r : residuals) squares += r * r;
      return squares;
    };
    EXPECT_NEAR(sum(-0.01), 1, 1e-9) << "whichever way it runs";
    EXPECT_NEAR(sum(0.01), 100, 1e-6) << "growing costs more";
  }
}

}  // namespace
}  // namespace chalkfold::draft
