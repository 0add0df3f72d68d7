// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/outline_registration.h"

#include <Eigen/Cholesky>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "pipeline/common/check_option.h"
#include "pipeline/common/require.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/robust.h"
#include "pipeline/geometry/vectors.h"

namespace chalkfold::geometry {

namespace {
constexpr double tukey = 4.685;        // scales; the usual constant, 95 % efficient for normal errors
constexpr double settled = 1e-7;       // mm: a round that moves no place further ends the rounds
constexpr double coarse_share = 0.02;  // of the size: the spread that a change of some percent leaves a rigid motion
constexpr double damping = 1e-9;       // of the mean diagonal: a circle leaves the turn open

/// The places of the source carried over, each beside the target.
class Comparison {
 public:
  /// `scale`: mm, the least that the robust weights take for the spread.
  Comparison(const ClosedOutline& source, const ClosedOutline& target, std::size_t count, double scale)
      : target_(target), scale_(scale) {
    for (const OutlinePlace& place : source.places(count)) fits_.push_back({place, {}, 1});
  }

  template <class Map>
  void take(const Map& target_from_source) {
    const double reach = 0.05 * target_.length();
    for (FitPlace& f : fits_) {
      const Vec2 p = target_from_source * f.source.point;
      f.target = started_ ? target_.nearest_about(p, f.target, reach) : target_.nearest(p);
    }
    started_ = true;
    weigh();
  }

  /// Anew over the whole outline at the next take.
  void forget() { started_ = false; }
  void set_scale(double scale) { scale_ = scale; }

  /// Of all places, outliers too: what a robust fit leaves out must not speak for it.
  double rms() const {
    double squares = 0;
    for (const FitPlace& f : fits_) squares += f.target.away * f.target.away;
    return std::sqrt(squares / static_cast<double>(fits_.size()));
  }

  const std::vector<FitPlace>& fits() const { return fits_; }

 private:
  void weigh() {
    std::vector<double> sizes;
    for (const FitPlace& f : fits_) sizes.push_back(std::abs(f.target.away));
    const double cut = tukey * std::max(scale_, robust_sigma(sizes));
    for (FitPlace& f : fits_) {
      const double u = f.target.away / cut;
      f.weight = std::abs(u) < 1 ? (1 - u * u) * (1 - u * u) : 0;
    }
  }

  const ClosedOutline& target_;
  double scale_;
  std::vector<FitPlace> fits_;
  bool started_ = false;
};

template <int Size>
Eigen::Matrix<double, Size, 1> solved(Eigen::Matrix<double, Size, Size> normal,
                                      const Eigen::Matrix<double, Size, 1>& right) {
  normal.diagonal().array() += damping * normal.diagonal().mean() + 1e-300;
  return normal.ldlt().solve(right);
}

/// One step of the rigid motion; how far it moves a place at the most, mm.
double step(const Comparison& comparison, Rigid2& motion, double size) {
  Mat3 normal = Mat3::Zero();
  Vec3 right = Vec3::Zero();
  for (const FitPlace& f : comparison.fits()) {
    const Vec2& n = f.target.outward;
    const Vec2 p = motion * f.source.point - motion.shift;
    const Vec3 row(n.dot(left_of(p)), n.x(), n.y());
    normal += f.weight * row * row.transpose();
    right -= f.weight * f.target.away * row;
  }
  const Vec3 move = solved<3>(normal, right);
  motion.angle += move[0];
  motion.shift += move.tail<2>();
  return std::abs(move[0]) * size + move.tail<2>().norm();
}

double step(const Comparison& comparison, Affine2& map, double size) {
  using Mat6 = Eigen::Matrix<double, 6, 6>;
  using Vec6 = Eigen::Matrix<double, 6, 1>;
  Mat6 normal = Mat6::Zero();
  Vec6 right = Vec6::Zero();
  for (const FitPlace& f : comparison.fits()) {
    const Vec2 &n = f.target.outward, p = f.source.point / size;
    Vec6 row;
    row << n.x() * p.x(), n.x() * p.y(), n.y() * p.x(), n.y() * p.y(), n.x(), n.y();
    normal += f.weight * row * row.transpose();
    right -= f.weight * f.target.away * row;
  }
  const Vec6 move = solved<6>(normal, right);
  Mat2 turn;
  turn << move[0], move[1], move[2], move[3];
  map.linear += turn / size;
  map.shift += move.tail<2>();
  return turn.norm() + move.tail<2>().norm();
}

/// The scale falls from round to round: a side that lies off by what the whole panel shrank must not pass for an outlier before the
/// map could follow it.
template <class Map>
void refine(Comparison& comparison, Map& map, int rounds, double size, double scale, double least_scale) {
  constexpr double falling = 0.6;
  comparison.set_scale(scale);
  comparison.take(map);
  for (int round = 0; round < rounds; ++round) {
    const double moved = step(comparison, map, size);
    const bool falls = scale > least_scale;
    scale = std::max(least_scale, falling * scale);
    comparison.set_scale(scale);
    comparison.take(map);
    if (moved < settled && !falls) break;
  }
}

std::vector<OutlineCorner> sharpest(const ClosedOutline& outline, std::size_t most) {
  std::vector<OutlineCorner> corners = find_edge_corners(outline.points());
  std::stable_sort(corners.begin(), corners.end(),
                   [](const OutlineCorner& a, const OutlineCorner& b) { return std::abs(a.turn) > std::abs(b.turn); });
  if (corners.size() > most) corners.resize(most);
  return corners;
}

/// Direction that halves a corner, from the outline 10 mm to either side of it.
double halving(const ClosedOutline& outline, const OutlineCorner& corner) {
  constexpr double arm = 10;  // mm
  const Vec2 to = outline.at(corner.along - arm).point + outline.at(corner.along + arm).point - 2 * corner.point;
  return std::atan2(to.y(), to.x());
}

std::vector<Rigid2> starts(const ClosedOutline& source, const ClosedOutline& target,
                           const RegistrationOptions& options) {
  std::vector<Rigid2> out;
  const Vec2 from = centroid(source.points()), to = centroid(target.points());
  for (std::size_t k = 0; k < options.turns; ++k) {
    Rigid2 motion{2 * std::numbers::pi * static_cast<double>(k) / static_cast<double>(options.turns), Vec2::Zero()};
    motion.shift = to - motion * from;
    out.push_back(motion);
  }
  constexpr double like = 0.35;  // rad, between the turns of corners that may be the same: blunt ones are read roughly
  for (const OutlineCorner& a : sharpest(source, options.corners)) {
    for (const OutlineCorner& b : sharpest(target, options.corners)) {
      if (std::abs(a.turn - b.turn) > like) continue;
      Rigid2 motion{halving(target, b) - halving(source, a), Vec2::Zero()};
      motion.shift = b.point - motion * a.point;
      out.push_back(motion);
    }
  }
  return out;
}

/// From the singular values of a 2 x 2 matrix in closed form.
double strain_of(const Mat2& m) {
  const double turning = 0.5 * std::hypot(m(0, 0) + m(1, 1), m(1, 0) - m(0, 1));
  const double stretching = 0.5 * std::hypot(m(0, 0) - m(1, 1), m(1, 0) + m(0, 1));
  return std::max(std::abs(turning + stretching - 1), std::abs(turning - stretching - 1));
}

OutlineRegistration finished(const Rigid2& start, const ClosedOutline& source, const ClosedOutline& target, double size,
                             const RegistrationOptions& options) {
  OutlineRegistration fit;
  fit.rigid = start;
  Comparison comparison(source, target, options.places, options.least_scale);
  const double coarse = coarse_share * size;
  refine(comparison, fit.rigid, options.rounds, size, coarse, coarse);
  fit.rigid_rms = comparison.rms();
  fit.affine.linear << std::cos(fit.rigid.angle), -std::sin(fit.rigid.angle), std::sin(fit.rigid.angle),
      std::cos(fit.rigid.angle);
  fit.affine.shift = fit.rigid.shift;
  refine(comparison, fit.affine, options.rounds, size, coarse, options.least_scale);
  comparison.forget();  // nothing depends on where a place was looked for before
  comparison.take(fit.affine);
  fit.affine_rms = comparison.rms();
  fit.strain = strain_of(fit.affine.linear);
  return fit;
}

/// rad, 0..pi.
double between(double a, double b) { return std::abs(std::remainder(a - b, 2 * std::numbers::pi)); }
}  // namespace

void check(const RegistrationOptions& o) {
  const auto count = [](const char* name, std::size_t value, double least, double most) {
    check_option(name, static_cast<double>(value), least, most);
  };
  constexpr double unknowns = 6;  // of the affine map: so many places tell it
  count("starting turns of the registration", o.turns, 1, 3600);
  count("starting corners of the registration", o.corners, 0, 100);
  count("coarse places of the registration", o.coarse_places, unknowns, 1e5);
  count("places of the registration", o.places, unknowns, 1e6);
  count("candidates of the registration", o.candidates, 1, 1000);
  check_option("angle between candidates, rad,", o.apart_angle, 0, std::numbers::pi);
  check_option("least scale of the registration, mm,", o.least_scale, 1e-6, 100);
  check_option("coarse rounds of the registration", o.coarse_rounds, 0, 10000);
  check_option("rounds of the registration", o.rounds, 0, 10000);
}

std::vector<OutlineRegistration> register_outlines(const ClosedOutline& source, const ClosedOutline& target,
                                                   const RegistrationOptions& options) {
  check(options);
  require_above("area of the outline that is laid, mm2,", signed_area(source.points()), 0);
  require_above("area of the outline that it is laid on, mm2,", signed_area(target.points()), 0);
  const double size = 0.25 * target.length();
  const ClosedOutline coarse(resample_closed(target.points(), 4 * options.coarse_places));
  const double coarse_scale = coarse_share * size;
  std::vector<std::pair<double, Rigid2>> sifted;
  for (Rigid2 motion : starts(source, target, options)) {
    Comparison comparison(source, coarse, options.coarse_places, coarse_scale);
    refine(comparison, motion, options.coarse_rounds, size, coarse_scale, coarse_scale);
    sifted.emplace_back(comparison.rms(), motion);
  }
  std::stable_sort(sifted.begin(), sifted.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  std::vector<Rigid2> kept;
  for (const auto& [rms, motion] : sifted) {
    const bool known = std::any_of(kept.begin(), kept.end(), [&, turn = motion.angle](const Rigid2& k) {
      return between(k.angle, turn) < options.apart_angle;
    });
    if (!known && kept.size() < options.candidates) kept.push_back(motion);
  }
  std::vector<OutlineRegistration> fits;
  fits.reserve(kept.size());
  for (const Rigid2& motion : kept) fits.push_back(finished(motion, source, target, size, options));
  std::stable_sort(fits.begin(), fits.end(),
                   [](const OutlineRegistration& a, const OutlineRegistration& b) { return a.score() < b.score(); });
  std::vector<OutlineRegistration> apart;  // several starts may end in the same place
  for (const OutlineRegistration& fit : fits) {
    const bool known = std::any_of(apart.begin(), apart.end(), [&](const OutlineRegistration& a) {
      return between(a.rigid.angle, fit.rigid.angle) < options.apart_angle;
    });
    if (!known) apart.push_back(fit);
  }
  return apart;
}

std::vector<FitPlace> places_of(const OutlineRegistration& fit, const ClosedOutline& source,
                                const ClosedOutline& target, const RegistrationOptions& options) {
  check(options);
  Comparison comparison(source, target, options.places, options.least_scale);
  comparison.take(fit.affine);
  return comparison.fits();
}

}  // namespace chalkfold::geometry
