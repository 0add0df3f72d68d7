// SPDX-License-Identifier: Apache-2.0
#include "pipeline/capture/saddle_corner.h"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <span>
#include <vector>

namespace chalkfold::capture {
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
  pixels.reserve(static_cast<std::size_t>(x1 - x0 + 1) * static_cast<std::size_t>(y1 - y0 + 1));
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

/// What a pixel says: its value's slopes by the parameters and, last, its residual.
using Said = Eigen::Matrix<double, 8, 1>;

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

  /// Some neighbouring pixels together, step by step: each step takes long to come out, and none waits for another pixel's.
  static constexpr std::size_t most = 32;
  void operator()(std::span<const Pixel> pixels, std::array<Said, most>& said) const {
    std::array<double, most> d1, d2, e1, e2, g1, g2;
    const std::size_t n = pixels.size();
    for (std::size_t i = 0; i < n; ++i) {
      const double dx = pixels[i].x - p_[0], dy = pixels[i].y - p_[1];
      d1[i] = c1_ * dx + s1_ * dy;
      d2[i] = c2_ * dx + s2_ * dy;
    }
    for (std::size_t i = 0; i < n; ++i) e1[i] = std::erf(d1[i] * scale_);
    for (std::size_t i = 0; i < n; ++i) e2[i] = std::erf(d2[i] * scale_);
    for (std::size_t i = 0; i < n; ++i) g1[i] = bell(d1[i]);
    for (std::size_t i = 0; i < n; ++i) g2[i] = bell(d2[i]);
    const double a = p_[5];
    for (std::size_t i = 0; i < n; ++i) {
      const double dx = pixels[i].x - p_[0], dy = pixels[i].y - p_[1];
      said[i] << -a * (g1[i] * e2[i] * c1_ + e1[i] * g2[i] * c2_), -a * (g1[i] * e2[i] * s1_ + e1[i] * g2[i] * s2_),
          a * g1[i] * e2[i] * (-s1_ * dx + c1_ * dy), a * e1[i] * g2[i] * (-s2_ * dx + c2_ * dy), 1, e1[i] * e2[i],
          -a * (g1[i] * e2[i] * d1[i] + e1[i] * g2[i] * d2[i]) / p_[6], pixels[i].value - (p_[4] + a * e1[i] * e2[i]);
    }
  }

 private:
  double bell(double d) const { return bell_ * std::exp(-d * d * scale_ * scale_); }

  const Params& p_;
  double c1_, s1_, c2_, s2_, scale_, bell_;
};

/// Sums over pixels of the products of what each says, two by two: the normal equations, their right side and the cost in one square of even size.
struct PixelSums {
  Eigen::Matrix<double, 8, 8> products = Eigen::Matrix<double, 8, 8>::Zero();

  auto normal() const { return products.topLeftCorner<7, 7>(); }
  auto right() const { return products.col(7).head<7>(); }
  double cost() const { return products(7, 7); }
};

PixelSums sums_over(std::span<const Pixel> pixels, const Params& p) {
  PixelSums sums;
  const SaddleSurface surface(p);
  std::array<Said, SaddleSurface::most> said;
  while (!pixels.empty()) {
    const auto some = pixels.first(std::min(pixels.size(), said.size()));
    surface(some, said);
    // Both halves: unrolled, that is quicker than a loop over one.
    for (std::size_t i = 0; i < some.size(); ++i) sums.products.noalias() += said[i] * said[i].transpose();
    pixels = pixels.subspan(some.size());
  }
  return sums;
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
  PixelSums sums = sums_over(pixels, p);
  double damping = 1e-3;
  const double reach = 0.6 * start.radius * start.photo_from_sheet.colwise().norm().minCoeff();
  for (int iteration = 0; iteration < 30 && damping < 1e6; ++iteration) {
    Eigen::Matrix<double, 7, 7> damped = sums.normal();
    damped.diagonal() *= 1 + damping;
    Params next = p + damped.ldlt().solve(sums.right());
    next[6] = std::clamp(next[6], 0.25, 12.0);
    const PixelSums next_sums = sums_over(pixels, next);
    if (!(next_sums.cost() < sums.cost())) {
      damping *= 10;
      continue;
    }
    const double moved = (next - p).head<2>().norm();
    p = next;
    sums = next_sums;
    damping = std::max(damping * 0.1, 1e-9);
    if (moved < 1e-4) break;
  }
  const double variance = sums.cost() / static_cast<double>(pixels.size() - 7);
  fit.centre = p.head<2>();
  fit.blur_px = p[6];
  fit.contrast = sign * p[5];
  fit.residual = std::sqrt(variance);
  const Eigen::Matrix<double, 7, 7> covariance = sums.normal().ldlt().solve(Eigen::Matrix<double, 7, 7>::Identity());
  fit.sigma_px = std::sqrt(std::max(0.0, 0.5 * variance * (covariance(0, 0) + covariance(1, 1))));
  fit.ok = (fit.centre - start.centre).norm() < reach && fit.contrast > 8 && fit.residual < 0.35 * fit.contrast &&
           std::isfinite(fit.sigma_px);
  return fit;
}

}  // namespace chalkfold::capture
