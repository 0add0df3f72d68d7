// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/chalk/panel_picture.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <vector>

#include "pipeline/trace/chalk/own_covariance.h"

namespace chalkfold::trace {
namespace {

// fitted: no source but the marks found and invented, as chalkfold_marks_accuracy --renders 200 --seed 1000 tells.
constexpr double rim = 0.8;     // mm beside outline and cut-outs that the edge's fray and shadow reach; fitted
constexpr double rim_px = 2.4;  // px of the photo that its blur and sharpening reach; the wider of the two is left out
// mm, standard deviation of the window of the local mean: wider than the widest stroke
constexpr double background = 7;
// mm, of the smoothing under which the material's own variation is measured: a stroke of 2
constexpr double stroke_scale = 0.7;
constexpr double least_variation = 0.004;  // of white, added to the material's own: about one step of an 8-bit picture
constexpr double margin = 6;               // mm of table around the panel, as wide as what is read beside a stroke
constexpr int coarse = 4;           // the local mean is computed on a picture this many times smaller: it is smooth
constexpr int sample_every = 3;     // px, of the material's variation: smoothed neighbours tell the same
constexpr double far_chi2 = 16;     // 99.9 %: left out of the local mean, where strokes stand close together
constexpr double no_weight = 1e-6;  // of a window: none of it is inside

std::vector<cv::Point> polygon_in_raster(const Polyline& points, const TableRaster& raster, int shift_bits) {
  std::vector<cv::Point> out;
  out.reserve(points.size());
  for (const Vec2& p : points) {
    const Vec2 q = raster.raster_from_table(p) * (1 << shift_bits);
    out.emplace_back(cvRound(q.x()), cvRound(q.y()));
  }
  return out;
}

cv::Mat inside_mask(const panel::Panel& panel, const TableRaster& raster, double beside) {
  constexpr int bits = 4;  // of a px, to which outlines are drawn: a sixteenth
  cv::Mat mask(raster.size, CV_8UC1, cv::Scalar(0));
  std::vector<std::vector<cv::Point>> polygons = {polygon_in_raster(panel.outline.points, raster, bits)};
  cv::fillPoly(mask, polygons, cv::Scalar(255), cv::LINE_8, bits);
  const int thick = std::max(1, cvRound(2 * beside / raster.mm_per_px));
  std::vector<std::vector<cv::Point>> borders = polygons;
  for (const panel::Contour& c : panel.cutouts) {
    borders.push_back(polygon_in_raster(c.points, raster, bits));
    cv::fillPoly(mask, std::vector{borders.back()}, cv::Scalar(0), cv::LINE_8, bits);
  }
  cv::polylines(mask, borders, true, cv::Scalar(0), thick, cv::LINE_8, bits);
  return mask;
}

/// What is left of `inside` without the places where a smoothed picture departs from the material by more than its own variation: strokes, holes.
cv::Mat without_far_out(const cv::Mat& inside, const cv::Mat& smooth, const Eigen::Matrix3d& covariance) {
  const Eigen::Matrix3d information = covariance.inverse();
  cv::Matx33f m;
  for (int r = 0; r < 3; ++r) {
    for (int c = 0; c < 3; ++c) m(r, c) = static_cast<float>(information(r, c));
  }
  cv::Mat out(smooth.size(), CV_8UC1);
  for (int y = 0; y < smooth.rows; ++y) {
    const auto* in = inside.ptr<unsigned char>(y);
    const auto* row = smooth.ptr<cv::Vec3f>(y);
    auto* o = out.ptr<unsigned char>(y);
    for (int x = 0; x < smooth.cols; ++x) o[x] = in[x] && !(row[x].dot(m * row[x]) > far_chi2) ? 255 : 0;
  }
  return out;
}

/// `out` becomes value(photographed, out) channel by channel where the mask is set, and 0 elsewhere; photographed is a share of white. In one pass, with
/// no picture between: they are large. By runs of pixels, in which nothing is left to ask.
template <class Value>
void set_inside(const cv::Mat& bgr, const cv::Mat& inside, cv::Mat& out, Value&& value) {
  constexpr auto of_white = static_cast<float>(1.0 / 255);
  for (int y = 0; y < bgr.rows; ++y) {
    const auto *in = inside.ptr<unsigned char>(y), *code = bgr.ptr<unsigned char>(y);
    auto* o = out.ptr<float>(y);
    for (int from = 0, to = 0; from < bgr.cols; from = to) {
      const bool within = in[from] != 0;
      for (to = from + 1; to < bgr.cols && (in[to] != 0) == within;) ++to;
      if (within) {
        for (int i = 3 * from; i < 3 * to; ++i) o[i] = value(static_cast<float>(code[i]) * of_white, o[i]);
      } else {
        std::fill(o + 3 * std::ptrdiff_t{from}, o + 3 * std::ptrdiff_t{to}, 0.0f);
      }
    }
  }
}

/// Mean over a Gaussian window of the pixels inside. `weighted` is a picture to work in: a fresh one costs as much as the work.
void local_mean(const cv::Mat& bgr, const cv::Mat& inside, double sigma_px, cv::Mat& weighted, cv::Mat& mean) {
  cv::Mat weight, coarse_colours, three;
  inside.convertTo(weight, CV_32F, 1.0 / 255);
  weighted.create(bgr.size(), CV_32FC3);
  set_inside(bgr, inside, weighted, [](float photographed, float) { return photographed; });
  const cv::Size small((bgr.cols + coarse - 1) / coarse, (bgr.rows + coarse - 1) / coarse);
  cv::resize(weighted, coarse_colours, small, 0, 0, cv::INTER_AREA);
  cv::resize(weight, weight, small, 0, 0, cv::INTER_AREA);
  cv::GaussianBlur(coarse_colours, coarse_colours, {}, sigma_px / coarse, sigma_px / coarse, cv::BORDER_CONSTANT);
  cv::GaussianBlur(weight, weight, {}, sigma_px / coarse, sigma_px / coarse, cv::BORDER_CONSTANT);
  weight = cv::max(weight, no_weight);
  cv::merge(std::vector<cv::Mat>{weight, weight, weight}, three);
  cv::divide(coarse_colours, three, coarse_colours);
  cv::resize(coarse_colours, mean, bgr.size(), 0, 0, cv::INTER_LINEAR);
}

/// Colours of the picture inside, some of them.
std::vector<Eigen::Vector3d> samples_of(const cv::Mat& smooth, const cv::Mat& inside) {
  std::vector<Eigen::Vector3d> samples;
  for (int y = 0; y < smooth.rows; y += sample_every) {
    const auto* in = inside.ptr<unsigned char>(y);
    const auto* row = smooth.ptr<cv::Vec3f>(y);
    for (int x = 0; x < smooth.cols; x += sample_every) {
      if (in[x]) samples.emplace_back(row[x][0], row[x][1], row[x][2]);
    }
  }
  return samples;
}

/// A panel that several photos show runs off each: what lies outside this one, or hard by its border, is not to be read.
void hide_outside(const cv::Mat& map, const cv::Size& photo, cv::Mat& inside) {
  constexpr float border = 6;  // px, of blur and of filters: those of a phone reach three or four
  for (int y = 0; y < map.rows; ++y) {
    const auto* m = map.ptr<cv::Vec2f>(y);
    auto* in = inside.ptr<unsigned char>(y);
    for (int x = 0; x < map.cols; ++x) {
      const bool shown = m[x][0] > border && m[x][1] > border && m[x][0] < static_cast<float>(photo.width) - border &&
                         m[x][1] < static_cast<float>(photo.height) - border;
      if (!shown) in[x] = 0;
    }
  }
}

}  // namespace

PanelPicture panel_picture(const cv::Mat& photo_bgr, const survey::TableView& view, const panel::Panel& panel,
                           double face_height) {
  PanelPicture picture;
  geometry::Box box = geometry::bounding_box(panel.outline.points);
  box.add(box.min - Vec2::Constant(margin));
  box.add(box.max + Vec2::Constant(margin));
  picture.raster = raster_over(box, panel_mm_per_px);
  const cv::Mat map = photo_map(picture.raster, view, face_height, 1.0);
  cv::remap(photo_bgr, picture.bgr, map, cv::noArray(), cv::INTER_LINEAR, cv::BORDER_REPLICATE);
  const double mm_per_px = view.mm_per_px(view.photo_from_table(geometry::centroid(panel.outline.points), face_height));
  picture.inside = inside_mask(panel, picture.raster, std::max(rim, rim_px * mm_per_px));
  hide_outside(map, photo_bgr.size(), picture.inside);

  cv::Mat colours, smooth, material = picture.inside.clone();
  const double sigma_px = stroke_scale / panel_mm_per_px;
  Eigen::Matrix3d covariance = Eigen::Matrix3d::Identity();
  for (int round = 0; round < 2; ++round) {
    local_mean(picture.bgr, material, background / panel_mm_per_px, smooth, colours);
    set_inside(picture.bgr, picture.inside, colours,
               [](float photographed, float mean) { return photographed - mean; });
    cv::GaussianBlur(colours, smooth, {}, sigma_px, sigma_px, cv::BORDER_CONSTANT);
    covariance = own_covariance(samples_of(smooth, picture.inside), least_variation);
    if (round == 0) material = without_far_out(picture.inside, smooth, covariance);
  }
  const Eigen::Matrix3d whiten = covariance.llt().matrixL().solve(Eigen::Matrix3d::Identity());
  for (int r = 0; r < 3; ++r) {
    for (int c = 0; c < 3; ++c) picture.departure_from_bgr(r, c) = static_cast<float>(whiten(r, c));
  }
  picture.departure = smooth;  // whose pixels are no longer needed, and whose memory is at hand
  cv::transform(colours, picture.departure, cv::Mat(picture.departure_from_bgr));
  return picture;
}

}  // namespace chalkfold::trace
