// SPDX-License-Identifier: Apache-2.0
#include "tests/trace/drawn_panel.h"

#include <opencv2/imgproc.hpp>

#include "pipeline/trace/find_marks.h"
#include "tests/trace/straight_view.h"

namespace chalkfold::test {

namespace {
constexpr int finer = 4;
constexpr double span_x = DrawnPanel::width + 2 * DrawnPanel::margin,
                 span_y = DrawnPanel::height + 2 * DrawnPanel::margin;
constexpr int columns = static_cast<int>(span_x * DrawnPanel::px_per_mm),
              rows = static_cast<int>(span_y * DrawnPanel::px_per_mm);
constexpr int bits = 6;
}  // namespace

capture::Photo photo_of(const cv::Mat& bgr) {
  capture::Photo photo;
  photo.bgr = bgr;
  photo.intact_part = {0, 0, bgr.cols, bgr.rows};
  return photo;
}

DrawnPanel::DrawnPanel(cv::Scalar panel_bgr, cv::Scalar table_bgr)
    : canvas_(rows * finer, columns * finer, CV_8UC3, table_bgr), table_(table_bgr) {
  polygon({{-width / 2, -height / 2}, {width / 2, -height / 2}, {width / 2, height / 2}, {-width / 2, height / 2}},
          panel_bgr);
}

cv::Point DrawnPanel::fine(const Vec2& at) const {
  // Pixel (i) of the fine canvas covers 1 / finer of a photo's pixel; centres at i + 0.5.
  const double x = ((at.x() + span_x / 2) * px_per_mm) * finer - 0.5,
               y = ((span_y / 2 - at.y()) * px_per_mm) * finer - 0.5;
  return {cvRound(x * (1 << bits)), cvRound(y * (1 << bits))};
}

void DrawnPanel::stroke(const Polyline& points, double width_mm, const cv::Scalar& bgr) {
  std::vector<cv::Point> line;
  for (const Vec2& p : points) line.push_back(fine(p));
  cv::polylines(canvas_, line, false, bgr, cvRound(width_mm * px_per_mm * finer), cv::LINE_8, bits);
}

void DrawnPanel::disc(const Vec2& at, double diameter, const cv::Scalar& bgr) {
  cv::circle(canvas_, fine(at), cvRound(diameter / 2 * px_per_mm * finer * (1 << bits)), bgr, cv::FILLED, cv::LINE_8,
             bits);
}

void DrawnPanel::polygon(const Polyline& points, const cv::Scalar& bgr) {
  std::vector<cv::Point> corners;
  for (const Vec2& p : points) corners.push_back(fine(p));
  cv::fillPoly(canvas_, std::vector{corners}, bgr, cv::LINE_8, bits);
}

cv::Mat DrawnPanel::photo(double sigma, std::uint64_t seed) const {
  cv::Mat small, noisy;
  cv::resize(canvas_, small, {columns, rows}, 0, 0, cv::INTER_AREA);
  cv::GaussianBlur(small, small, {}, 0.6);
  cv::RNG random(seed);
  cv::Mat noise(small.size(), CV_32FC3);
  random.fill(noise, cv::RNG::NORMAL, 0, sigma);
  small.convertTo(noisy, CV_32FC3);
  noisy += noise;
  noisy.convertTo(small, CV_8UC3);
  return small;
}

survey::TableView DrawnPanel::view() const {
  survey::TableView::Solution s = straight_above({columns, rows}, px_per_mm);
  s.photo = "drawn.png";
  return survey::TableView(s);
}

panel::Panel DrawnPanel::panel() const {
  panel::Panel panel;
  const Polyline corners = {
      {-width / 2, -height / 2}, {width / 2, -height / 2}, {width / 2, height / 2}, {-width / 2, height / 2}};
  for (std::size_t i = 0; i < corners.size(); ++i) {
    const Vec2 d = corners[(i + 1) % 4] - corners[i];
    for (double s = 0; s < d.norm() - 1e-9; s += 1) panel.outline.points.push_back(corners[i] + s * d.normalized());
  }
  panel.outline.sigma.assign(panel.outline.points.size(), 0.05);
  panel.outline.U.assign(panel.outline.points.size(), 0.15);
  return panel;
}

panel::Panel DrawnPanel::read(double sigma, std::uint64_t seed, const capture::CodingSteps& coding) const {
  panel::Panel p = panel();
  trace::TraceOptions options;
  options.thickness = options.paper_thickness;  // drawn in the plane z = 0
  capture::Photo drawn = photo_of(photo(sigma, seed));
  drawn.coding = coding;
  trace::find_marks(p, drawn, view(), options);
  return p;
}

}  // namespace chalkfold::test
