// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/edge/boundary_sampler.h"

#include <cmath>

#include "pipeline/geometry/polygon.h"

namespace chalkfold::trace {

BoundarySampler::BoundarySampler(const cv::Mat& bgr, const survey::TableView& view, double height, double thickness)
    : bgr_(bgr), view_(view), height_(height), thickness_(thickness) {
  // sRGB decoding, IEC 61966-2-1. Phones' own curves differ, but over one edge any such curve is near enough a power law.
  constexpr double foot = 0.04045, slope = 12.92, offset = 0.055, power = 2.4;
  for (std::size_t i = 0; i < linear_.size(); ++i) {
    const double code = static_cast<double>(i) / static_cast<double>(linear_.size() - 1);
    linear_[i] = static_cast<float>(code <= foot ? code / slope : std::pow((code + offset) / (1 + offset), power));
  }
}

Eigen::Vector3f BoundarySampler::colour(const Vec2& p) const {
  const float x = std::clamp(static_cast<float>(p.x()), 0.0f, static_cast<float>(bgr_.cols - 2)),
              y = std::clamp(static_cast<float>(p.y()), 0.0f, static_cast<float>(bgr_.rows - 2));
  const int ix = static_cast<int>(x), iy = static_cast<int>(y);
  const float u = x - static_cast<float>(ix), v = y - static_cast<float>(iy);
  const std::ptrdiff_t channel = 3 * std::ptrdiff_t{ix};
  const auto *a = bgr_.ptr<unsigned char>(iy) + channel, *b = bgr_.ptr<unsigned char>(iy + 1) + channel;
  Eigen::Vector3f out;
  for (int c = 0; c < 3; ++c) {
    out[c] = (1 - v) * ((1 - u) * linear_[a[c]] + u * linear_[a[c + 3]]) +
             v * ((1 - u) * linear_[b[c]] + u * linear_[b[c + 3]]);
  }
  return out;
}

EdgeProfile BoundarySampler::profile(const Vec2& base, const Vec2& outward, double first, double last, double step,
                                     int rays, double spread) const {
  EdgeProfile p;
  p.first = first;
  p.step = step;
  const auto count = static_cast<std::size_t>(std::floor((last - first) / step)) + 1;
  p.linear.assign(count, Eigen::Vector3f::Zero());
  const Vec2 along(-outward.y(), outward.x());
  // Over a centimetre the photo's map is quadratic to a thousandth of a pixel: three projections a ray instead of one a sample.
  const double middle = 0.5 * (first + last), half = 0.5 * (last - first);
  for (int r = 0; r < rays; ++r) {
    const Vec2 shift =
        rays > 1 ? Vec2(along * (spread * (static_cast<double>(r) / (rays - 1) - 0.5))) : Vec2(Vec2::Zero());
    const Vec2 a = view_.photo_from_table(base + shift + first * outward, height_),
               b = view_.photo_from_table(base + shift + middle * outward, height_),
               c = view_.photo_from_table(base + shift + last * outward, height_);
    const Vec2 slope = (c - a) / (2 * half), bend = (a - 2 * b + c) / (2 * half * half);
    for (std::size_t i = 0; i < count; ++i) {
      const double t = first + step * static_cast<double>(i) - middle;
      p.linear[i] += colour(b + t * slope + t * t * bend);
    }
  }
  for (auto& v : p.linear) v /= static_cast<float>(rays);
  mark_covered(p, base, outward);
  mark_outside(p, base, outward);
  return p;
}

void BoundarySampler::mark_outside(EdgeProfile& profile, const Vec2& base, const Vec2& outward) const {
  const auto inside = [&](double t) {
    const Vec2 p = view_.photo_from_table(base + t * outward, height_);
    return p.x() >= 0 && p.y() >= 0 && p.x() <= bgr_.cols - 1 && p.y() <= bgr_.rows - 1;
  };
  const std::size_t last = profile.linear.size() - 1;
  if (inside(profile.at(0)) && inside(profile.at(last))) return;
  profile.covered.resize(profile.linear.size(), false);
  for (std::size_t i = 0; i <= last; ++i)
    if (!inside(profile.at(i))) profile.covered[i] = true;
}

void BoundarySampler::cover(const Polyline& card) {
  Card c{card, Vec2::Zero(), 0};
  for (const Vec2& p : card) c.middle += p / static_cast<double>(card.size());
  for (const Vec2& p : card) c.radius = std::max(c.radius, (p - c.middle).norm());
  cards_.push_back(std::move(c));
}

void BoundarySampler::mark_covered(EdgeProfile& profile, const Vec2& base, const Vec2& outward) const {
  constexpr double slant = 3;  // thicknesses that the view shifts the table by, at most: as aslant as 72 degrees
  const double reach =
      std::max(std::abs(profile.first), std::abs(profile.at(profile.linear.size() - 1))) + slant * thickness_;
  for (const Card& card : cards_) {
    if ((base - card.middle).norm() > card.radius + reach) continue;
    for (std::size_t i = 0; i < profile.linear.size(); ++i) {
      // What is seen at the panel's height lies a little elsewhere on the table.
      const Vec2 on_table = view_.table_from_photo(view_.photo_from_table(base + profile.at(i) * outward, height_), 0);
      if (!geometry::contains(card.outline, on_table)) continue;
      profile.covered.resize(profile.linear.size(), false);
      profile.covered[i] = true;
    }
  }
}

double BoundarySampler::mm_per_px(const Vec2& at, const Vec2& direction) const {
  const double px =
      (view_.photo_from_table(at + direction, height_) - view_.photo_from_table(at - direction, height_)).norm();
  return 2 / std::max(px, 1e-6);
}

double BoundarySampler::wall_shown(const Vec2& at, const Vec2& outward) const {
  const Vec2 foot = view_.table_from_photo(view_.photo_from_table(at, height_ - thickness_), height_);
  return outward.dot(foot - at);
}

}  // namespace chalkfold::trace
