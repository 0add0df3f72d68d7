// SPDX-License-Identifier: Apache-2.0
#include "demo/base/outline_field.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <stdexcept>

#include "pipeline/geometry/segment.h"

namespace chalkfold::demo {

namespace {
constexpr double cell_mm = 2.0;
constexpr double raster_mm = 1.0;

double cross(const Vec2& u, const Vec2& v) { return u.x() * v.y() - u.y() * v.x(); }

/// Half-open on the first stretch, so that a path through a vertex counts once.
bool crosses(const Vec2& from, const Vec2& to, const Vec2& a, const Vec2& b) {
  const Vec2 d = to - from;
  const double side_a = cross(d, a - from), side_b = cross(d, b - from);
  if ((side_a >= 0) == (side_b >= 0)) return false;
  const Vec2 e = b - a;
  return (cross(e, from - a) >= 0) != (cross(e, to - a) >= 0);
}
}  // namespace

OutlineField::OutlineField(std::vector<Polyline> rings, double reach) : rings_(std::move(rings)), reach_(reach) {
  for (const Polyline& ring : rings_) {
    if (ring.size() < 3) throw std::logic_error("outline ring of " + std::to_string(ring.size()) + " points");
    for (std::size_t i = 0; i < ring.size(); ++i) {
      box_.add(ring[i]);
      segments_.push_back({ring[i], ring[(i + 1) % ring.size()]});
    }
  }
  if (rings_.empty()) throw std::logic_error("outline without rings");
  grid_ = CellGrid({box_.min - Vec2::Constant(near_limit), box_.max + Vec2::Constant(near_limit)}, cell_mm);
  for (std::size_t i = 0; i < segments_.size(); ++i) {
    geometry::Box touched;
    touched.add(segments_[i].a);
    touched.add(segments_[i].b);
    touched.min -= Vec2::Constant(near_limit);
    touched.max += Vec2::Constant(near_limit);
    grid_.add(touched, static_cast<int>(i));
  }
  grid_.build();
  build_inside_flags();
  build_distances();
}

void OutlineField::build_inside_flags() {
  centre_inside_.assign(static_cast<std::size_t>(grid_.columns()) * static_cast<std::size_t>(grid_.rows()), 0);
  std::vector<double> crossings;
  for (int row = 0; row < grid_.rows(); ++row) {
    const double y = grid_.cell_centre(0, row).y();
    crossings.clear();
    for (const Segment& s : segments_) {
      if ((s.a.y() > y) == (s.b.y() > y)) continue;
      crossings.push_back(s.a.x() + (y - s.a.y()) / (s.b.y() - s.a.y()) * (s.b.x() - s.a.x()));
    }
    std::sort(crossings.begin(), crossings.end());
    std::size_t passed = 0;
    for (int column = 0; column < grid_.columns(); ++column) {
      const double x = grid_.cell_centre(column, row).x();
      while (passed < crossings.size() && crossings[passed] <= x) ++passed;
      centre_inside_[static_cast<std::size_t>(row) * static_cast<std::size_t>(grid_.columns()) +
                     static_cast<std::size_t>(column)] = passed % 2 == 1;
    }
  }
}

bool OutlineField::inside(const Vec2& p) const {
  const int cell = grid_.cell_of(p);
  if (cell < 0) return false;
  bool inside = centre_inside_[static_cast<std::size_t>(cell)] != 0;
  const auto near = grid_.items(cell);
  if (near.empty()) return inside;
  const Vec2 centre = grid_.cell_centre(cell % grid_.columns(), cell / grid_.columns());
  for (const int i : near) {
    const Segment& s = segments_[static_cast<std::size_t>(i)];
    if (crosses(centre, p, s.a, s.b)) inside = !inside;
  }
  return inside;
}

double OutlineField::exact_distance(const Vec2& p, std::span<const int> candidates) const {
  double best = 1e9;
  for (const int i : candidates) {
    const Segment& s = segments_[static_cast<std::size_t>(i)];
    best = std::min(best, geometry::distance_to_segment(p, s.a, s.b));
  }
  return best;
}

bool OutlineField::edge_within(const Vec2& p, double distance) const {
  const int cell = grid_.cell_of(p);
  return cell >= 0 && exact_distance(p, grid_.items(cell)) < distance;
}

std::optional<OutlineField::Crossing> OutlineField::first_crossing(const Vec2& a, const Vec2& b) const {
  geometry::Box touched;
  touched.add(a);
  touched.add(b);
  std::optional<Crossing> first;
  for (const int i : grid_.items_in(touched)) {
    const Segment& s = segments_[static_cast<std::size_t>(i)];
    if (!crosses(a, b, s.a, s.b)) continue;
    const Vec2 e = s.b - s.a;
    const double along = std::clamp(cross(e, s.a - a) / cross(e, b - a), 0.0, 1.0);
    if (first && first->along <= along) continue;
    first = Crossing{along, Vec2(e.y(), -e.x()).normalized()};
  }
  // Seen from outside the normal faces the viewer, whichever way the ring runs.
  if (first && first->normal.dot(b - a) > 0) first->normal = -first->normal;
  return first;
}

void OutlineField::build_distances() {
  const double margin = reach_ + 2 * raster_mm;
  raster_origin_ = box_.min - Vec2::Constant(margin);
  raster_columns_ = static_cast<int>(std::ceil((box_.size().x() + 2 * margin) / raster_mm)) + 1;
  raster_rows_ = static_cast<int>(std::ceil((box_.size().y() + 2 * margin) / raster_mm)) + 1;
  const auto node = [&](int column, int row) { return Vec2(raster_origin_ + raster_mm * Vec2(column, row)); };

  cv::Mat seeds(raster_rows_, raster_columns_, CV_8U, cv::Scalar(255)), rough, labels;
  for (const Segment& s : segments_) {
    const int steps = 1 + static_cast<int>((s.b - s.a).norm() / (0.5 * raster_mm));
    for (int k = 0; k <= steps; ++k) {
      const Vec2 at = (s.a + (s.b - s.a) * k / steps - raster_origin_) / raster_mm;
      seeds.at<uchar>(static_cast<int>(std::lround(at.y())), static_cast<int>(std::lround(at.x()))) = 0;
    }
  }
  cv::distanceTransform(seeds, rough, labels, cv::DIST_L2, 5, cv::DIST_LABEL_PIXEL);
  std::vector<Vec2> seed_of_label(seeds.total() + 1, Vec2::Zero());
  for (int row = 0; row < raster_rows_; ++row) {
    for (int column = 0; column < raster_columns_; ++column) {
      if (seeds.at<uchar>(row, column) == 0)
        seed_of_label[static_cast<std::size_t>(labels.at<int>(row, column))] = node(column, row);
    }
  }
  raster_.resize(seeds.total());
  cv::parallel_for_({0, raster_rows_}, [&](const cv::Range& rows) {
    for (int row = rows.start; row < rows.end; ++row) {
      for (int column = 0; column < raster_columns_; ++column) {
        const Vec2 p = node(column, row);
        double distance = rough.at<float>(row, column) * raster_mm;
        if (distance < reach_) {
          // The seed lies within a raster step of the nearest segment, and the grid lists all segments near the seed.
          const int cell = grid_.cell_of(seed_of_label[static_cast<std::size_t>(labels.at<int>(row, column))]);
          if (cell >= 0) distance = exact_distance(p, grid_.items(cell));
        }
        distance = std::min(distance, reach_);
        raster_[static_cast<std::size_t>(row) * static_cast<std::size_t>(raster_columns_) +
                static_cast<std::size_t>(column)] = static_cast<float>(inside(p) ? -distance : distance);
      }
    }
  });
}

float OutlineField::signed_distance(const Vec2& p) const {
  const double x = (p.x() - raster_origin_.x()) / raster_mm, y = (p.y() - raster_origin_.y()) / raster_mm;
  if (!(x >= 0 && y >= 0 && x < raster_columns_ - 1 && y < raster_rows_ - 1)) return static_cast<float>(reach_);
  const int column = static_cast<int>(x), row = static_cast<int>(y);
  const float u = static_cast<float>(x - column), v = static_cast<float>(y - row);
  const float* at = &raster_[static_cast<std::size_t>(row) * static_cast<std::size_t>(raster_columns_) +
                             static_cast<std::size_t>(column)];
  const float* below = at + raster_columns_;
  const float low = at[0] + u * (at[1] - at[0]), high = below[0] + u * (below[1] - below[0]);
  return low + v * (high - low);
}

}  // namespace chalkfold::demo
