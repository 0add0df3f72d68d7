// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/edge/uncertainty.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/robust.h"
#include "pipeline/geometry/smallest_rectangle.h"
#include "pipeline/trace/edge/boundary_path.h"

namespace chalkfold::trace {
namespace {

// fitted: outline_accuracy.py, seeds 9001, 21001, 31001, 41001, and the photographs
// What no fit sees: the edge model's own error on real edges.
constexpr double edge_model_sigma = 0.03;  // mm; fitted
constexpr double edge_model_px = 0.06;     // px; fitted
// mm per mm of thickness: side wall and cast shadow of a thick panel; fitted
constexpr double wall_model_sigma = 0.015;

}  // namespace

double model_sigma(const survey::TableView& view, const Vec2& at, const TraceOptions& options) {
  const double pixel = edge_model_px * view.mm_per_px(view.photo_from_table(at, options.face_height())),
               wall = wall_model_sigma * options.thickness;
  return std::sqrt(edge_model_sigma * edge_model_sigma + pixel * pixel + wall * wall);
}

void add_rival_doubt(panel::Contour& contour, const FollowedBoundary& course) {
  if (course.points.empty()) return;
  for (std::size_t i = 0; i < contour.points.size(); ++i) {
    const auto nearest = std::min_element(course.points.begin(), course.points.end(),
                                          [at = contour.points[i]](const Vec2& a, const Vec2& b) {
                                            return (a - at).squaredNorm() < (b - at).squaredNorm();
                                          });
    contour.sigma[i] =
        std::hypot(contour.sigma[i], course.rival[static_cast<std::size_t>(nearest - course.points.begin())]);
  }
}

void add_disagreement(panel::Contour& contour, const Polyline& other, double slack) {
  if (other.empty()) return;
  const geometry::Box box = geometry::bounding_box(other);
  for (std::size_t i = 0; i < contour.points.size(); ++i) {
    const Vec2& p = contour.points[i];
    const bool in_box = p.x() > box.min.x() && p.x() < box.max.x() && p.y() > box.min.y() && p.y() < box.max.y();
    if (in_box && geometry::contains(other, p)) continue;
    const double off = geometry::distance_to(other, p, true);
    if (off > slack) contour.U[i] = std::hypot(contour.U[i], off);
  }
}

void fill_uncertainty(panel::Contour& contour, const survey::TableView& view, const TraceOptions& options) {
  const std::size_t n = contour.points.size(), stride = std::max<std::size_t>(1, n / survey_places);
  const Polyline all_normals = right_normals(contour.points, 2);
  Polyline points, normals;
  for (std::size_t i = 0; i < n; i += stride) {
    points.push_back(contour.points[i]);
    normals.push_back(all_normals[i]);
  }
  const std::vector<double> shape = view.shape_sigma(points, normals, options.face_height(), options.thickness_sigma);
  contour.U.resize(n);
  for (std::size_t i = 0; i < n; ++i) {
    const std::size_t a = std::min(i / stride, shape.size() - 1), b = (a + 1) % shape.size();
    const double t = static_cast<double>(i - a * stride) / static_cast<double>(stride);
    const double survey = (1 - t) * shape[a] + t * shape[b];
    const double model = model_sigma(view, contour.points[i], options);
    contour.U[i] = coverage * std::sqrt(survey * survey + contour.sigma[i] * contour.sigma[i] + model * model);
  }
}

void fill_numbers(panel::Panel& panel) {
  panel.area = geometry::signed_area(panel.outline.points);
  for (const panel::Contour& c : panel.cutouts) panel.area += geometry::signed_area(c.points);
  panel.perimeter = geometry::length(panel.outline.points, true);
  const geometry::TurnedRectangle around = geometry::smallest_rectangle(panel.outline.points);
  panel.extent = Vec2(around.length, around.width);
  panel.edge_sigma = geometry::median(panel.outline.sigma);
  panel.U_median = geometry::median(panel.outline.U);
  // Of the edge: whether a notch is one, its own confidence says.
  const std::vector<double> U = panel::outline_across_notches(panel).U;
  panel.U_max = *std::max_element(U.begin(), U.end());
}

double px_per_mm_at(const survey::TableView& view, const Vec2& at, double height) {
  return 1 / view.mm_per_px(view.photo_from_table(at, height));
}

void add_doubtful_stretch(panel::Panel& panel, const std::string& photo) {
  constexpr double large = 1.0;  // mm, 2 standard deviations: what a trimmer would see on the cut piece
  const panel::Contour& c = panel.outline;
  const std::size_t n = c.points.size();
  double best = 0, run = 0, worst = 0, run_worst = 0;
  std::size_t at = 0, run_at = 0;
  for (std::size_t k = 0; k < 2 * n; ++k) {  // twice round: a stretch may pass the start
    const std::size_t i = k % n;
    const double doubt = coverage * c.sigma[i];  // of the edge alone: sheets and thickness have faults of their own
    if (doubt < large) {
      run = run_worst = 0;
      continue;
    }
    run = std::min(run + (c.points[(i + 1) % n] - c.points[i]).norm(), panel.perimeter);
    if (doubt > run_worst) {
      run_worst = doubt;
      run_at = i;
    }
    if (run <= best) continue;
    best = run;
    worst = run_worst;
    at = run_at;
  }
  if (best < long_stretch) return;
  const Vec2 place = c.points[at] - geometry::bounding_box(c.points).min;
  panel.faults.push_back(Fault{
      "outline-doubtful",
      Severity::warning,
      fmt::format("over {:.0f} mm of the outline the edge may be off by more than {:.0f} mm, by up to {:.1f} mm near "
                  "({:.0f}, {:.0f}) mm from the panel's lower left",
                  best, large, worst, place.x(), place.y()),
      "Look at that place in the picture; trim loose threads there, or lay the panel on something of another colour.",
      photo,
      {}});
}

}  // namespace chalkfold::trace
