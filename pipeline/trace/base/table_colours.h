// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <Eigen/Core>
#include <opencv2/core.hpp>
#include <vector>

namespace chalkfold::trace {

/// Code of a and b at which OpenCV's 8-bit Lab has no colour.
constexpr int lab_grey = 128;

// "The same colour?" by the squared Mahalanobis distance over three channels: chi-squared with 3 degrees of freedom. Two questions, for one bound loses on either:
// at 16.27 a black panel on a dark table falls apart, at 12.84 for both the outline of a lit side panel is off by 0.22 mm instead of 0.16.

/// Level 0.01: of a material's own samples one in a hundred lies farther off. Where panel and table are told apart, pixel by pixel.
constexpr double own_colour2 = 11.345;
inline bool same_colour(double distance2) { return distance2 < own_colour2; }
/// The same of every pixel (CV_32F in, CV_8U out), and its contrary.
inline cv::Mat same_colour(const cv::Mat& distance2) { return distance2 < own_colour2; }
inline cv::Mat other_colour(const cv::Mat& distance2) { return distance2 > own_colour2; }

/// Level 0.001: what is surely not of the material, though it be measured elsewhere on it, in other light.
constexpr double surely_other2 = 16.266;
inline bool surely_other(double distance2) { return distance2 > surely_other2; }

/// A mixture of Gaussians over L, a, b (OpenCV's 8-bit scaling), fitted by k-means and then expectation-maximisation
/// (A. Dempster et al., "Maximum likelihood from incomplete data via the EM algorithm", 1977).
class ColourMixture {
 public:
  /// Fits up to `components` Gaussians to the pixels of a CV_8UC3 picture where the mask is set; every axis keeps at least `floor` spread.
  /// Pixels are thinned evenly to at most `samples`. Deterministic.
  static ColourMixture fit(const cv::Mat& lab, const cv::Mat& mask, int components, const Eigen::Vector3d& floor,
                           int samples = 6000);

  /// Forgets parts of less than this weight: things that lay in the sampled area by chance. Keeps at least what there is when all are small.
  void drop_strays(double least_weight);

  bool empty() const { return parts_.empty(); }

  /// log density of every pixel, CV_32F; the masked-out pixels are 0.
  cv::Mat log_density(const cv::Mat& lab, const cv::Mat& mask) const;

  /// Squared Mahalanobis distance of every pixel to the nearest part, CV_32F; the masked-out pixels are 0.
  cv::Mat distance2(const cv::Mat& lab, const cv::Mat& mask) const;

  /// log density and squared Mahalanobis distance to the nearest part of one colour.
  double log_density(const Eigen::Vector3d& colour) const;
  double distance2(const Eigen::Vector3d& colour) const;

 private:
  struct Part {
    double weight;
    Eigen::Vector3d mean;
    Eigen::Matrix3d inverse;
    double log_norm;
  };
  std::vector<double> shares_in(const std::vector<Eigen::Vector3d>& colours) const;

  std::vector<Part> parts_;
};

}  // namespace chalkfold::trace
