// SPDX-License-Identifier: Apache-2.0
#include "demo/base/noise.h"

namespace chalkfold::demo {

std::uint64_t mixed(std::uint64_t value) {
  value += 0x9E3779B97F4A7C15ULL;
  value = (value ^ (value >> 30)) * 0xBF58476D1CE4E5B9ULL;
  value = (value ^ (value >> 27)) * 0x94D049BB133111EBULL;
  return value ^ (value >> 31);
}

std::uint64_t Random::next() {
  const std::uint64_t out = mixed(state_);
  state_ += 0x9E3779B97F4A7C15ULL;
  return out;
}

double Random::uniform() { return static_cast<double>(next() >> 11) * 0x1.0p-53; }

int Random::integer(int low, int high) { return low + static_cast<int>(uniform() * (high - low + 1)); }

double Random::normal() {
  double sum = -6;
  for (int i = 0; i < 12; ++i) sum += uniform();
  return sum;
}

float normal_from(std::uint64_t bits) {
  const auto part = [&](int shift) { return static_cast<float>((bits >> shift) & 0xFFFFU); };
  constexpr float mean = 2 * 65535.0F, sigma = 37837.2F;  // of the sum: 65536 * sqrt(4 / 12)
  return (part(0) + part(16) + part(32) + part(48) - mean) / sigma;
}

namespace {
int floor_to_int(float v) {
  const int i = static_cast<int>(v);
  return i - (v < static_cast<float>(i));
}
float smooth(float t) { return t * t * (3 - 2 * t); }
}  // namespace

float lattice_value(int x, int y, std::uint32_t seed) {
  std::uint32_t h = static_cast<std::uint32_t>(x) * 0x8DA6B343U ^ static_cast<std::uint32_t>(y) * 0xD8163841U ^ seed;
  h = (h ^ (h >> 15)) * 0x2C1B3C6DU;
  h = (h ^ (h >> 12)) * 0x297A2D39U;
  h ^= h >> 15;
  return static_cast<float>(h >> 8) * 0x1.0p-23F - 1;
}

float value_noise(float x, float y, std::uint32_t seed) {
  const int ix = floor_to_int(x), iy = floor_to_int(y);
  const float u = smooth(x - static_cast<float>(ix)), v = smooth(y - static_cast<float>(iy));
  const float a = lattice_value(ix, iy, seed), b = lattice_value(ix + 1, iy, seed);
  const float c = lattice_value(ix, iy + 1, seed), d = lattice_value(ix + 1, iy + 1, seed);
  const float low = a + u * (b - a), high = c + u * (d - c);
  return low + v * (high - low);
}

float layered_noise(float x, float y, float period, int octaves, float footprint, std::uint32_t seed) {
  float sum = 0, amplitude = 0.5F;
  for (int k = 0; k < octaves; ++k, period *= 0.5F, amplitude *= 0.5F) {
    const float share = kept(period, footprint);
    if (share < 0.02F) break;  // finer octaves are fainter still
    sum += amplitude * share * value_noise(x / period, y / period, seed + static_cast<std::uint32_t>(k) * 7919U);
  }
  return sum;
}

}  // namespace chalkfold::demo
