// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>

namespace chalkfold::demo {

/// Generator of random numbers that gives the same values with every compiler and library (those of <random>'s
/// distributions differ). Method: G. L. Steele, D. Lea, C. H. Flood, "Fast splittable pseudorandom number generators",
/// 2014.
class Random {
 public:
  explicit Random(std::uint64_t seed) : state_(seed) {}
  std::uint64_t next();
  /// in [0, 1)
  double uniform();
  double uniform(double low, double high) { return low + (high - low) * uniform(); }
  /// in [low, high], both ends included
  int integer(int low, int high);
  bool chance(double share) { return uniform() < share; }
  /// mean 0, sigma 1, never beyond 6 (sum of twelve uniforms)
  double normal();

 private:
  std::uint64_t state_;
};

/// A well mixed 64-bit value of one input; neighbouring inputs give unrelated values.
std::uint64_t mixed(std::uint64_t value);

/// Close to a standard normal value from 64 mixed bits: the sum of four 16-bit uniforms, so never beyond 3.5.
float normal_from(std::uint64_t bits);

/// Repeatable value in [-1, 1] of a lattice point.
float lattice_value(int x, int y, std::uint32_t seed);

/// Smooth noise in [-1, 1] with a feature size of 1; zero mean over the plane.
float value_noise(float x, float y, std::uint32_t seed);

/// The share of a pattern's contrast that a pixel of this footprint still sees; both in mm. 1 for coarse patterns, 0
/// for fine ones.
inline float kept(float period, float footprint) {
  const float q = 2 * footprint / period;
  return 1 / (1 + q * q * q * q);
}

/// Sum of `octaves` noises, each half the period and half the amplitude of the one before, and each faded by kept().
float layered_noise(float x, float y, float period, int octaves, float footprint, std::uint32_t seed);

}  // namespace chalkfold::demo
