// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/base/table_colours.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <unordered_map>

#include "pipeline/geometry/robust.h"

namespace chalkfold::trace {
namespace {

using Colours = std::vector<Eigen::Vector3d>;

Colours thinned(const cv::Mat& lab, const cv::Mat& mask, int samples) {
  const int total = cv::countNonZero(mask);
  const int stride = std::max(1, total / std::max(1, samples));
  Colours colours;
  int seen = 0;
  for (int y = 0; y < lab.rows; ++y) {
    const auto* m = mask.ptr<unsigned char>(y);
    const auto* p = lab.ptr<cv::Vec3b>(y);
    for (int x = 0; x < lab.cols; ++x) {
      if (m[x] && seen++ % stride == 0) colours.emplace_back(p[x][0], p[x][1], p[x][2]);
    }
  }
  return colours;
}

constexpr double start_rank = 0.98;  // of the colours by distance: a stray colour does not become a centre
constexpr double start_apart2 = 4;   // codes squared: nearer than two steps of 8 bits, colours are one to the picture
constexpr std::size_t fewest = 20;   // samples: a covariance has 6 numbers
constexpr double start_spread = 3, start_least = 5;  // floors, codes: wide enough for every part to reach its colours
constexpr int rounds = 8;  // of expectation-maximisation; fitted: outline_accuracy.py, seeds 9001, 21001, 31001, 41001
constexpr double least_share = 0.005;  // of all samples: 30 of the usual 6000, about `fewest`

/// Start means spread over the data: each next the colour farthest from those so far (T. Gonzalez, "Clustering to minimize the maximum intercluster distance", 1985),
/// taken at `start_rank`.
Colours start_means(const Colours& colours, int count) {
  Eigen::Vector3d mean = Eigen::Vector3d::Zero();
  for (const auto& c : colours) mean += c / static_cast<double>(colours.size());
  Colours means{mean};
  std::vector<double> nearest(colours.size(), 1e300);
  std::vector<std::pair<double, std::size_t>> distance(colours.size());
  while (static_cast<int>(means.size()) < count) {
    for (std::size_t i = 0; i < colours.size(); ++i) {
      nearest[i] = std::min(nearest[i], (colours[i] - means.back()).squaredNorm());
      distance[i] = {nearest[i], i};
    }
    const auto [far, which] = geometry::quantile(distance, start_rank);
    if (far < start_apart2) break;
    means.push_back(colours[which]);
  }
  return means;
}

/// The few colours that samples show over and over.
struct Shown {
  /// each once
  Colours colours;
  /// number of every sample's among them
  std::vector<std::size_t> of_sample;
};

Shown each_once(const Colours& samples) {
  Shown shown;
  shown.of_sample.reserve(samples.size());
  std::unordered_map<std::uint32_t, std::size_t> numbers;
  numbers.reserve(samples.size());
  for (const Eigen::Vector3d& c : samples) {
    // 8 bits a channel
    const auto code = static_cast<std::uint32_t>(c[0]) << 16 | static_cast<std::uint32_t>(c[1]) << 8 |
                      static_cast<std::uint32_t>(c[2]);
    const auto [number, first] = numbers.emplace(code, shown.colours.size());
    if (first) shown.colours.push_back(c);
    shown.of_sample.push_back(number->second);
  }
  return shown;
}

/// Sums of colours by weight, and of their products two by two: plain numbers, that stay in the processor's registers where matrices would not.
struct WeightedSums {
  double weight = 0, x = 0, y = 0, z = 0, xx = 0, xy = 0, xz = 0, yx = 0, yy = 0, yz = 0, zx = 0, zy = 0, zz = 0;

  void add(double w, const Eigen::Vector3d& c) {
    const double wx = w * c[0], wy = w * c[1], wz = w * c[2];
    weight += w;
    x += wx, y += wy, z += wz;
    xx += wx * c[0], xy += wx * c[1], xz += wx * c[2];
    yx += wy * c[0], yy += wy * c[1], yz += wy * c[2];
    zx += wz * c[0], zy += wz * c[1], zz += wz * c[2];
  }
  Eigen::Vector3d first() const { return {x, y, z}; }
  Eigen::Matrix3d second() const { return (Eigen::Matrix3d() << xx, xy, xz, yx, yy, yz, zx, zy, zz).finished(); }
};

}  // namespace

/// Shares of the parts in each colour, colour by colour.
std::vector<double> ColourMixture::shares_in(const std::vector<Eigen::Vector3d>& colours) const {
  std::vector<double> shares;
  shares.reserve(colours.size() * parts_.size());
  std::vector<double> log_p(parts_.size());
  for (const auto& c : colours) {
    double top = -1e300, total = 0;
    for (std::size_t i = 0; i < parts_.size(); ++i) {
      const Eigen::Vector3d d = c - parts_[i].mean;
      log_p[i] = parts_[i].log_norm - 0.5 * d.dot(parts_[i].inverse * d);
      top = std::max(top, log_p[i]);
    }
    for (double& p : log_p) total += (p = std::exp(p - top));
    for (const double p : log_p) shares.push_back(p / total);
  }
  return shares;
}

ColourMixture ColourMixture::fit(const cv::Mat& lab, const cv::Mat& mask, int components, const Eigen::Vector3d& floor,
                                 int samples) {
  ColourMixture mixture;
  const Colours colours = thinned(lab, mask, samples);
  if (colours.size() < fewest) return mixture;
  const Colours means = start_means(colours, components);
  const Shown shown = each_once(colours);
  const Eigen::Matrix3d least = floor.cwiseAbs2().asDiagonal();
  const auto make = [](double weight, const Eigen::Vector3d& mean, const Eigen::Matrix3d& covariance) {
    return Part{weight, mean, covariance.inverse(),
                std::log(weight) - 0.5 * std::log(covariance.determinant()) - 1.5 * std::log(2 * std::numbers::pi)};
  };
  for (const auto& m : means)
    mixture.parts_.push_back(
        make(1.0 / static_cast<double>(means.size()), m,
             start_spread * start_spread * least + Eigen::Matrix3d::Identity() * (start_least * start_least)));
  for (int round = 0; round < rounds; ++round) {
    const std::size_t k = mixture.parts_.size();
    const std::vector<double> shares = mixture.shares_in(shown.colours);
    std::vector<Part> next;
    for (std::size_t i = 0; i < k; ++i) {
      WeightedSums sums;
      for (std::size_t s = 0; s < colours.size(); ++s) sums.add(shares[shown.of_sample[s] * k + i], colours[s]);
      if (sums.weight < least_share * static_cast<double>(colours.size())) continue;
      const Eigen::Vector3d mean = sums.first() / sums.weight;
      next.push_back(make(sums.weight / static_cast<double>(colours.size()), mean,
                          sums.second() / sums.weight - mean * mean.transpose() + least));
    }
    mixture.parts_ = std::move(next);
  }
  return mixture;
}

void ColourMixture::drop_strays(double least_weight) {
  std::vector<Part> kept;
  for (const Part& p : parts_) {
    if (p.weight >= least_weight) kept.push_back(p);
  }
  if (!kept.empty()) parts_ = std::move(kept);
}

double ColourMixture::log_density(const Eigen::Vector3d& colour) const {
  double top = -1e300, sum = 0;
  for (const Part& p : parts_) {
    const Eigen::Vector3d d = colour - p.mean;
    const double l = p.log_norm - 0.5 * d.dot(p.inverse * d);
    if (l > top) {
      sum = sum * std::exp(top - l) + 1;
      top = l;
    } else {
      sum += std::exp(l - top);
    }
  }
  return top + std::log(sum);
}

double ColourMixture::distance2(const Eigen::Vector3d& colour) const {
  double best = 1e300;
  for (const Part& p : parts_) {
    const Eigen::Vector3d d = colour - p.mean;
    best = std::min(best, d.dot(p.inverse * d));
  }
  return best;
}

cv::Mat ColourMixture::log_density(const cv::Mat& lab, const cv::Mat& mask) const {
  cv::Mat out(lab.size(), CV_32F, cv::Scalar(0));
  // Neighbouring pixels share colours: densities are kept per cell of 2 steps a channel, over the range of a and b that materials reach.
  constexpr int a_low = 64;
  constexpr std::size_t levels = 128, cells = 64;
  const auto cell_of = [](int code) {
    return std::min(static_cast<std::size_t>(std::max(code - a_low, 0)) / 2, cells - 1);
  };
  std::vector<float> table(levels * cells * cells, 1e9f);
  for (int y = 0; y < lab.rows; ++y) {
    const auto* m = mask.ptr<unsigned char>(y);
    const auto* p = lab.ptr<cv::Vec3b>(y);
    auto* o = out.ptr<float>(y);
    for (int x = 0; x < lab.cols; ++x) {
      if (!m[x]) continue;
      const std::size_t l = p[x][0] / 2u, a = cell_of(p[x][1]), b = cell_of(p[x][2]);
      float& cell = table[(l * cells + a) * cells + b];
      const auto middle = [](std::size_t k) { return 2 * static_cast<double>(k) + 0.5; };
      if (cell > 1e8f)
        cell = static_cast<float>(log_density(Eigen::Vector3d(middle(l), middle(a) + a_low, middle(b) + a_low)));
      o[x] = cell;
    }
  }
  return out;
}

cv::Mat ColourMixture::distance2(const cv::Mat& lab, const cv::Mat& mask) const {
  cv::Mat out(lab.size(), CV_32F, cv::Scalar(0));
  // A table shows a few thousand colours over and over: each is worked out again only when another one has taken its place meanwhile.
  struct Known {
    std::uint32_t colour = ~0u;
    float distance = 0;
  };
  // all of L, the last bits of a and b: what lies close has places of its own
  constexpr std::uint32_t places = 1u << 15;
  std::vector<Known> known(places);
  for (int y = 0; y < lab.rows; ++y) {
    const auto* m = mask.ptr<unsigned char>(y);
    const auto* p = lab.ptr<cv::Vec3b>(y);
    auto* o = out.ptr<float>(y);
    for (int x = 0; x < lab.cols; ++x) {
      if (!m[x]) continue;
      const std::uint32_t l = p[x][0], a = p[x][1], b = p[x][2], colour = l << 16 | a << 8 | b;
      Known& k = known[l | (a & 7) << 8 | (b & 15) << 11];
      if (k.colour != colour) k = {colour, static_cast<float>(distance2(Eigen::Vector3d(l, a, b)))};
      o[x] = k.distance;
    }
  }
  return out;
}

}  // namespace chalkfold::trace
