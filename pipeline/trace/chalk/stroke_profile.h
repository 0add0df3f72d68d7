// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>
#include <optional>
#include <vector>

#include "pipeline/trace/chalk/panel_picture.h"
#include "pipeline/trace/chalk/stroke.h"

namespace chalkfold::trace {

/// What a panel's picture shows across a line laid on it: departures (PanelPicture) at even steps along and across.
class StrokeProfile {
 public:
  /// samples on each side of the line: as far as half the widest stroke and what is read beside it, but for its outermost part
  static constexpr int half_offsets = 9;
  /// mm between them
  static constexpr double offset_step = panel_mm_per_px;

  /// `line` in table mm, any spacing; it is resampled. Precondition: at least two distinct points.
  StrokeProfile(const PanelPicture& picture, const Polyline& line);

  std::size_t size() const { return points_.size(); }
  const Polyline& points() const { return points_; }

  /// Mean departure over samples [from, to) along, with |offset| between `low` and `high` mm; `side` -1 right of the line, 1 left, 0 both.
  /// Samples off the panel are left out; `count` says how many were in.
  cv::Vec3f mean(std::size_t from, std::size_t to, double low, double high, int side, int* count = nullptr) const;

  /// Mean departure at one offset (mm, positive to the left) over all samples along.
  cv::Vec3f mean_at(int offset_index) const;

  /// Share of the samples on the line itself that lie on the panel.
  double share_inside() const;

 private:
  struct Sample {
    cv::Vec3f departure;
    bool inside = false;
  };
  const Sample& at(std::size_t i, int offset_index) const {
    return samples_[i * (2 * half_offsets + 1) + static_cast<std::size_t>(offset_index + half_offsets)];
  }

  Polyline points_;
  std::vector<Sample> samples_;
};

/// The stretch of a line on which something is drawn: chains of crest points run on into the material's own lines. Breaks of a few millimetres
/// are kept; of several stretches the one that shows most.
Polyline drawn_part(const StrokeProfile& line);

/// The stretches of a line that show an ink at half its strength or more, whatever the rest of it shows: a chain that runs along a rib from edge to
/// edge may hold several marks. `direction` is the ink's unit departure, `contrast` its strength. Breaks of a few millimetres are kept.
std::vector<Polyline> parts_in_ink(const StrokeProfile& line, const cv::Vec3f& direction, double contrast);

/// Measures a line as a stroke: its middle moved to the middle of what is drawn, width, departure and steadiness; `significance` and `repeats`
/// are left at 0. `contrast` is 0 when the two sides do not look alike against it (a step), when it is but a dot or two, or too little of it lies on the panel.
Stroke measured_stroke(const PanelPicture& picture, const Polyline& line);

/// How much of a stroke's colour is at a place: 1 on it, 0 on the bare material. Not clipped. 0 off the panel.
double ink_at(const PanelPicture& picture, const Stroke& stroke, const Vec2& at);

/// A stroke laid at other places of its panel. The picture must outlive it.
class DisplacedCopies {
 public:
  DisplacedCopies(const PanelPicture& picture, const Stroke& stroke);

  /// What the panel shows of the stroke's departure when the stroke is moved by `shift` (mm); nullopt when less than four fifths of it lie on the panel.
  std::optional<double> contrast(const Vec2& shift) const;

 private:
  const PanelPicture& picture_;
  cv::Vec3f departure_;
  Polyline middle_, outer_;  // raster px: places on the stroke, and on both sides of it
};

}  // namespace chalkfold::trace
