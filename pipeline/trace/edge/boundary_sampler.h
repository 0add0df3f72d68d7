// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <opencv2/core.hpp>
#include <vector>

#include "pipeline/survey/table_view.h"
#include "pipeline/trace/edge/edge_profile.h"

namespace chalkfold::trace {

/// Reads colours of table points at the height of the panel's upper face (`thickness` above the table) straight from the original photo, bilinearly, in linear light.
class BoundarySampler {
 public:
  BoundarySampler(const cv::Mat& bgr, const survey::TableView& view, double height, double thickness);

  /// Takes a card (table mm, z = 0, convex, either way round) for paper from now on: nothing there is panel or table.
  void cover(const Polyline& card);

  /// Mean of `rays` parallel rays spread over `spread` mm along the boundary. What lies outside the photo counts as covered.
  EdgeProfile profile(const Vec2& base, const Vec2& outward, double first, double last, double step, int rays,
                      double spread) const;

  /// mm per px of the picture along a direction at a table point.
  double mm_per_px(const Vec2& at, const Vec2& direction) const;

  /// How far, mm along `outward`, the foot of the side wall shows beyond the upper edge; negative when the wall is hidden.
  double wall_shown(const Vec2& at, const Vec2& outward) const;

  /// Colour of one table point.
  Eigen::Vector3f colour_at(const Vec2& at) const { return colour(view_.photo_from_table(at, height_)); }

 private:
  struct Card {
    Polyline outline;
    Vec2 middle;
    double radius;
  };
  void mark_covered(EdgeProfile& profile, const Vec2& base, const Vec2& outward) const;
  void mark_outside(EdgeProfile& profile, const Vec2& base, const Vec2& outward) const;
  Eigen::Vector3f colour(const Vec2& at_in_photo) const;

  const cv::Mat& bgr_;
  const survey::TableView& view_;
  double height_, thickness_;
  std::vector<Card> cards_;
  std::array<float, 256> linear_{};
};

}  // namespace chalkfold::trace
