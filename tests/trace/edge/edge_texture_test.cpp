// SPDX-License-Identifier: Apache-2.0
// Ribbed, striped and grained panels beside a known edge, drawn in light, blurred by numbers, and coded.
#include "pipeline/trace/edge/edge_texture.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <functional>
#include <numbers>

namespace chalkfold::trace {
namespace {

constexpr double blur = 0.25;  // mm, a phone's at a metre
constexpr double step = 0.2;   // mm
constexpr int count = 80;      // profiles, 1 mm apart

/// Reflectance of the panel relative to its mean, at mm from its edge (negative: inside) and mm along.
using Pattern = std::function<double(double, double)>;

const Eigen::Vector3d panel(0.28, 0.05, 0.04), table(0.31, 0.30, 0.28);

double coded(double light) {
  const double code = light <= 0.0031308 ? 12.92 * light : 1.055 * std::pow(light, 1 / 2.4) - 0.055;
  const double whole = std::round(255 * std::clamp(code, 0.0, 1.0)) / 255;
  return whole <= 0.04045 ? whole / 12.92 : std::pow((whole + 0.055) / 1.055, 2.4);
}

/// The profile at mm `along` a boundary whose edge lies at `edge`; the table in a contact shadow of some tenths.
EdgeProfile photographed(const Pattern& pattern, double edge, double along, double first, double last,
                         const EdgeModel& light) {
  constexpr double fine = 0.02;  // mm
  EdgeProfile p;
  p.first = first;
  p.step = step;
  for (int i = 0; first + i * step <= last + 1e-9; ++i) {
    Eigen::Vector3d sum = Eigen::Vector3d::Zero();
    double weights = 0;
    for (double off = -4 * blur; off <= 4 * blur; off += fine) {
      const double x = first + i * step + off + 0.3 * fine - edge, w = std::exp(-0.5 * off * off / (blur * blur));
      const double dark =
          light.lamp * 0.5 * std::erfc((x - light.shadow_shift) / (light.shadow_width * std::numbers::sqrt2)) +
          0.5 * (1 - light.lamp) * (1 - x / std::hypot(x, light.thickness));
      const Eigen::Vector3d here =
          x < 0 ? Eigen::Vector3d(pattern(x, along) * panel) : Eigen::Vector3d((1 - dark) * table);
      sum += w * here;
      weights += w;
    }
    Eigen::Vector3f v;
    for (int c = 0; c < 3; ++c) v[c] = static_cast<float>(coded(sum[c] / weights));
    p.linear.push_back(v);
  }
  set_tone_weights(p);
  return p;
}

EdgeModel shaded() {
  EdgeModel m;
  m.blur = blur;
  m.thickness = 1.2;
  m.lamp = 0.55;
  m.shadow_shift = 0.3;
  m.shadow_width = 0.25;
  return m;
}

struct Boundary {
  std::vector<EdgeProfile> profiles, deep;
  std::vector<double> edges, blurs;
};

/// `off`: of the edges handed over, against the true ones.
Boundary boundary_of(const Pattern& pattern, double off) {
  Boundary b;
  for (int i = 0; i < count; ++i) {
    const double edge = 0.2 * std::sin(0.05 * i);
    b.profiles.push_back(photographed(pattern, edge, i, -4.4, 4, shaded()));
    b.deep.push_back(photographed(pattern, edge, i, -texture_depth, 0, shaded()));
    b.edges.push_back(edge + off);
    b.blurs.push_back(blur);
  }
  return b;
}

/// Greatest error of the edges found, mm, in the middle of the boundary.
double worst_error(const std::vector<EdgeProfile>& profiles, const Boundary& b, double off) {
  double worst = 0;
  for (int i = 20; i < count - 20; ++i) {
    const auto s = static_cast<std::size_t>(i);
    const EdgeFit fit = fit_edge(profiles[s], shaded(), -1.2, 1.2);
    worst = std::max(worst, fit.ok ? std::abs(fit.edge - (b.edges[s] - off)) : 9.0);
  }
  return worst;
}

std::vector<EdgeProfile> flattened(const Boundary& b) {
  const std::vector<double> along = texture_along(b.profiles, false);
  auto flat = b.profiles;
  take_out_texture({b.deep, b.edges, b.blurs, along, false}, flat);
  return flat;
}

/// Ribs 4 mm apart that drift along the edge by a rib in 50 mm; `phase` of the one at the edge.
Pattern ribs(double phase, double drift_per_mm = 0.02) {
  return [=](double x, double along) {
    return 1 + 0.3 * std::cos(2 * std::numbers::pi * (x / 4 + drift_per_mm * along) + phase);
  };
}

/// Threads 1.2 mm wide, each of its own brightness and elsewhere on the next profile.
double grain(double x, double along) {
  auto mixed = static_cast<std::uint32_t>(1000 * std::lround(along) + std::lround(std::floor(x / 1.2)) + 500);
  for (int round = 0; round < 3; ++round) mixed = (mixed ^ (mixed >> 15U)) * 0x2c1b3c6dU;
  return 0.7 + 0.6 * static_cast<double>(mixed >> 8U) / (1U << 24U);
}

// mm: an eighth of a pixel of 0.36 mm. Half of it is whole codes and the shadow's shape, beside an even panel too.
constexpr double bearable = 0.045;

TEST(EdgeTexture, RibsAlongTheEdgeDoNotMoveIt) {
  for (const double off : {0.0, -0.15}) {  // mm: what a furrow had done to the edge before
    for (const double phase : {0.0, 1.5, std::numbers::pi, 4.5}) {
      for (const double drift : {0.0, 0.02}) {
        const Boundary b = boundary_of(ribs(phase, drift), off);
        EXPECT_LT(worst_error(flattened(b), b, off), bearable) << "phase " << phase << " drift " << drift;
      }
    }
  }
}

TEST(EdgeTexture, AStripeOfAnotherColourBesideTheEdgeDoesNotMoveIt) {
  for (const double from : {-3.0, -2.0, -1.2}) {
    for (const double brighter : {1.6, 0.6}) {
      const Boundary b = boundary_of([=](double x, double) { return x < from ? brighter : 0.8; }, 0);
      EXPECT_LT(worst_error(flattened(b), b, 0), bearable) << "from " << from << " brighter " << brighter;
    }
  }
}

TEST(EdgeTexture, BothMoveTheEdgeWhereTheyAreLeftIn) {
  // Else the tests above say nothing.
  const Boundary ribbed = boundary_of(ribs(0, 0), 0),
                 striped = boundary_of([](double x, double) { return x < -2 ? 1.6 : 0.8; }, 0);
  EXPECT_GT(worst_error(ribbed.profiles, ribbed, 0), 1.2 * bearable);
  EXPECT_GT(worst_error(striped.profiles, striped, 0), 2 * bearable);
}

TEST(EdgeTexture, TellsRibsFromGrain) {
  const Boundary ribbed = boundary_of(ribs(1), 0), grained = boundary_of(grain, 0);
  for (int i = 10; i < count - 10; ++i) {
    const auto s = static_cast<std::size_t>(i);
    EXPECT_GT(share_taken_out(texture_along(ribbed.profiles, false)[s]), 0.9) << "profile " << i;
    EXPECT_LT(texture_along(grained.profiles, false)[s], 0.3) << "profile " << i;
  }
}

TEST(EdgeTexture, LeavesAnEvenPanelAsItIs) {
  const Boundary b = boundary_of([](double, double) { return 1.0; }, 0);
  const auto flat = flattened(b);
  constexpr float step_of_code = 0.008F;  // of light, one code at these brightnesses
  for (std::size_t i = 0; i < flat.size(); ++i) {
    for (std::size_t k = 0; k < flat[i].linear.size(); ++k)
      EXPECT_LT((flat[i].linear[k] - b.profiles[i].linear[k]).cwiseAbs().maxCoeff(), step_of_code);
  }
}

TEST(EdgeTexture, ShortBoundariesAreLeftAlone) {
  Boundary b = boundary_of(ribs(0), 0);
  b.profiles.resize(6);
  const auto along = texture_along(b.profiles, true);
  EXPECT_EQ(along, std::vector<double>(6, 0.0));
}

}  // namespace
}  // namespace chalkfold::trace
