// SPDX-License-Identifier: Apache-2.0
#include "pipeline/capture/saddle_corner.h"

#include <Eigen/Dense>
#include <cmath>
#include <numbers>
#include <vector>

namespace chalkfold {
namespace {

using Params = Eigen::Matrix<double, 7, 1>;  // centre x, y; angles of the two normals; level; contrast; blur

struct Pixel {
  double x, y, value;
};

/// Pixels whose place on the sheet lies within the window. Empty when the window leaves the picture.
std::vector<Pixel> window_pixels(const cv::Mat& grey, const SaddleStart& start) {
  const Mat2 sheet_from_photo = start.photo_from_sheet.inverse();
  const Vec2 reach = start.radius * start.photo_from_sheet.rowwise().norm();
  const int x0 = static_cast<int>(std::floor(start.centre.x() - reach.x())),
            x1 = static_cast<int>(std::ceil(start.centre.x() + reach.x()));
  const int y0 = static_cast<int>(std::floor(start.centre.y() - reach.y())),
            y1 = static_cast<int>(std::ceil(start.centre.y() + reach.y()));
  std::vector<Pixel> pixels;
  if (x0 < 0 || y0 < 0 || x1 >= grey.cols || y1 >= grey.rows) return pixels;
  pixels.reserve(static_cast<std::size_t>((x1 - x0 + 1) * (y1 - y0 + 1)));
  for (int y = y0; y <= y1; ++y) {
    const auto* row = grey.ptr<unsigned char>(y);
    for (int x = x0; x <= x1; ++x) {
      if ((sheet_from_photo * (Vec2(x, y) - start.centre)).squaredNorm() <= start.radius * start.radius) {
        pixels.push_back({static_cast<double>(x), static_cast<double>(y), static_cast<double>(row[x])});
      }
    }
  }
  return pixels;
}

/// The model with what all pixels share worked out once: some hundred thousand pixels are looked at in a photo.
class SaddleSurface {
 public:
  explicit SaddleSurface(const Params& p)
      : p_(p),
        c1_(std::cos(p[2])),
        s1_(std::sin(p[2])),
        c2_(std::cos(p[3])),
        s2_(std::sin(p[3])),
        scale_(1 / (std::numbers::sqrt2 * p[6])),
        bell_(2 / std::sqrt(std::numbers::pi) * scale_) {}

  /// Value at a pixel and its derivatives by the parameters.
  double operator()(double x, double y, Params& slope) const {
    const double dx = x - p_[0], dy = y - p_[1];
    const double d1 = c1_ * dx + s1_ * dy, d2 = c2_ * dx + s2_ * dy;
    const double e1 = std::erf(d1 * scale_), e2 = std::erf(d2 * scale_);
    const double g1 = bell(d1), g2 = bell(d2);
    const double a = p_[5];
    slope << -a * (g1 * e2 * c1_ + e1 * g2 * c2_), -a * (g1 * e2 * s1_ + e1 * g2 * s2_),
        a * g1 * e2 * (-s1_ * dx + c1_ * dy), a * e1 * g2 * (-s2_ * dx + c2_ * dy), 1, e1 * e2,
        -a * (g1 * e2 * d1 + e1 * g2 * d2) / p_[6];
    return p_[4] + a * e1 * e2;
  }

 private:
  double bell(double d) const { return bell_ * std::exp(-d * d * scale_ * scale_); }

  const Params& p_;
  double c1_, s1_, c2_, s2_, scale_, bell_;
};

double normal_equations(const std::vector<Pixel>& pixels, const Params& p, Eigen::Matrix<double, 7, 7>& jtj,
                        Params& jtr) {
  jtj.setZero();
  jtr.setZero();
  double cost = 0;
  Params slope;
  const SaddleSurface surface(p);
  for (const Pixel& q : pixels) {
    const double r = q.value - surface(q.x, q.y, slope);
    cost += r * r;
    // Both halves: unrolled, that is quicker than a loop over one.
    jtj.noalias() += slope * slope.transpose();
    jtr += r * slope;
  }
  return cost;
}

Params first_guess(const std::vector<Pixel>& pixels, const SaddleStart& start) {
  double low = 255, high = 0;
  for (const Pixel& q : pixels) {
    low = std::min(low, q.value);
    high = std::max(high, q.value);
  }
  // The edge along sheet x has its normal across it in the photo, turned to the side of sheet +y (and likewise for y).
  const Vec2 ex = start.photo_from_sheet.col(0), ey = start.photo_from_sheet.col(1);
  Vec2 across_x(-ex.y(), ex.x()), across_y(-ey.y(), ey.x());
  if (across_x.dot(ey) < 0) across_x = -across_x;
  if (across_y.dot(ex) < 0) across_y = -across_y;
  Params p;
  p << start.centre.x(), start.centre.y(), std::atan2(across_x.y(), across_x.x()),
      std::atan2(across_y.y(), across_y.x()), 0.5 * (low + high), start.first_sign * 0.5 * (high - low), 0.8;
  return p;
}

}  // namespace

SaddleFit fit_saddle(const cv::Mat& grey, const SaddleStart& start) {
  SaddleFit fit;
  const std::vector<Pixel> pixels = window_pixels(grey, start);
  if (pixels.size() < 30) return fit;
  Params p = first_guess(pixels, start);
  const double sign = start.first_sign;
  Eigen::Matrix<double, 7, 7> jtj;
  Params jtr;
  double cost = normal_equations(pixels, p, jtj, jtr), damping = 1e-3;
  const double reach = 0.6 * start.radius * start.photo_from_sheet.colwise().norm().minCoeff();
  for (int iteration = 0; iteration < 30 && damping < 1e6; ++iteration) {
    Eigen::Matrix<double, 7, 7> damped = jtj;
    damped.diagonal() *= 1 + damping;
    Params next = p + damped.ldlt().solve(jtr);
    next[6] = std::clamp(next[6], 0.25, 12.0);
    Eigen::Matrix<double, 7, 7> next_jtj;
    Params next_jtr;
    const double next_cost = normal_equations(pixels, next, next_jtj, next_jtr);
    if (!(next_cost < cost)) {
      damping *= 10;
      continue;
    }
    const double moved = (next - p).head<2>().norm();
    p = next;
    cost = next_cost;
    jtj = next_jtj;
    jtr = next_jtr;
    damping = std::max(damping * 0.1, 1e-9);
    if (moved < 1e-4) break;
  }
  const double variance = cost / static_cast<double>(pixels.size() - 7);
  fit.centre = p.head<2>();
  fit.blur_px = p[6];
  fit.contrast = sign * p[5];
  fit.residual = std::sqrt(variance);
  const Eigen::Matrix<double, 7, 7> covariance = jtj.ldlt().solve(Eigen::Matrix<double, 7, 7>::Identity());
  fit.sigma_px = std::sqrt(std::max(0.0, 0.5 * variance * (covariance(0, 0) + covariance(1, 1))));
  fit.ok = (fit.centre - start.centre).norm() < reach && fit.contrast > 8 && fit.residual < 0.35 * fit.contrast &&
           std::isfinite(fit.sigma_px);
  return fit;
}

}  // namespace chalkfold
