// SPDX-License-Identifier: Apache-2.0
#include "demo/render.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <stdexcept>
#include <string>

#include "demo/sensor.h"
#include "demo/shading.h"

namespace chalkfold::demo {

namespace {

constexpr int tile = 32;       // px
constexpr int node_step = 4;   // px between exact lines of sight; between them bilinear, off by under 0.002 px
constexpr int nodes_across = tile / node_step + 1;

// A rank-1 (Fibonacci) lattice: evenly spread, and along either axis n different evenly spaced places, so that even an edge along
// the pixel rows is placed to 1 / (2 n) px.
constexpr int samples = 55, lattice_step = 34;

/// Lines of sight of one tile.
class SightGrid {
 public:
  SightGrid(const Lens& lens, const Pose& pose, int x0, int y0) {
    const Mat3 table_from_camera = pose.rotation.transpose();
    const Vec3 eye = pose.centre();
    for (int j = 0; j < nodes_across; ++j) {
      for (int i = 0; i < nodes_across; ++i) {
        const Vec2 ideal = ideal_from_photo(lens, {x0 + i * node_step, y0 + j * node_step});
        const Vec3 ray = table_from_camera * Vec3(ideal.x(), ideal.y(), 1);
        constexpr double flattest = -0.05;
        if (!(ray.z() < flattest && eye.z() > 0)) {
          throw std::logic_error("the camera sees the horizon in pixel " + std::to_string(x0) + ", " + std::to_string(y0));
        }
        Sight& s = at(i, j);
        s.slope = ray.head<2>() / ray.z();
        s.foot = eye.head<2>() - eye.z() * s.slope;
        feet_.add(s.foot);
        steepest_ = std::max(steepest_, s.slope.norm());
      }
    }
    // Coarsest in the corner farthest away; the same over the tile to a few per cent.
    for (const int j : {0, nodes_across - 2}) {
      for (const int i : {0, nodes_across - 2}) {
        footprint_ = std::max({footprint_, (at(i + 1, j).foot - at(i, j).foot).norm() / node_step,
                               (at(i, j + 1).foot - at(i, j).foot).norm() / node_step});
      }
    }
  }

  /// Line of sight at a place (px) from the tile's first pixel centre.
  Sight sight(double x, double y) const {
    const double gx = x / node_step, gy = y / node_step;
    const int i = std::clamp(static_cast<int>(gx), 0, nodes_across - 2), j = std::clamp(static_cast<int>(gy), 0, nodes_across - 2);
    const double u = gx - i, v = gy - j;
    const Sight &a = at(i, j), &b = at(i + 1, j), &c = at(i, j + 1), &d = at(i + 1, j + 1);
    const double wa = (1 - u) * (1 - v), wb = u * (1 - v), wc = (1 - u) * v, wd = u * v;
    return {wa * a.foot + wb * b.foot + wc * c.foot + wd * d.foot, wa * a.slope + wb * b.slope + wc * c.slope + wd * d.slope};
  }

  const Box& feet() const { return feet_; }
  double steepest() const { return steepest_; }
  double footprint() const { return footprint_; }

 private:
  Sight& at(int i, int j) { return nodes_[static_cast<std::size_t>(j * nodes_across + i)]; }
  const Sight& at(int i, int j) const { return nodes_[static_cast<std::size_t>(j * nodes_across + i)]; }

  std::array<Sight, static_cast<std::size_t>(nodes_across) * nodes_across> nodes_;
  Box feet_;
  double steepest_ = 0, footprint_ = 0;
};

/// The surfaces that share one pixel, each with its number of samples and mean place.
class PixelMix {
 public:
  void add(const Hit& hit) {
    for (int k = 0; k < used_; ++k) {
      Entry& e = entries_[static_cast<std::size_t>(k)];
      if (e.mean.key() != hit.key()) continue;
      ++e.count;
      e.mean.at += hit.at;
      e.mean.normal += hit.normal;
      e.mean.z += hit.z;
      return;
    }
    if (used_ < static_cast<int>(entries_.size())) entries_[static_cast<std::size_t>(used_++)] = {hit, 1};
  }

  Colour colour(const Surfaces& surfaces, double footprint, const Candidates& among) {
    Colour sum;
    int total = 0;
    for (int k = 0; k < used_; ++k) {
      Entry& e = entries_[static_cast<std::size_t>(k)];
      e.mean.at /= e.count;
      e.mean.z /= e.count;
      if (e.mean.surface == Surface::wall) e.mean.normal.normalize();
      sum = sum + radiance(surfaces, e.mean, footprint, among) * static_cast<float>(e.count);
      total += e.count;
    }
    return sum * (1 / static_cast<float>(total));
  }

 private:
  struct Entry {
    Hit mean;
    int count = 0;
  };
  std::array<Entry, 12> entries_;
  int used_ = 0;
};

Colour mixed_pixel(const Surfaces& surfaces, const SightGrid& grid, double x, double y, const Candidates& among) {
  PixelMix mix;
  for (int k = 0; k < samples; ++k) {
    const double dx = (k + 0.5) / samples - 0.5, dy = ((k * lattice_step) % samples + 0.5) / samples - 0.5;
    mix.add(surfaces.hit(grid.sight(x + dx, y + dy), 0, among));
  }
  return mix.colour(surfaces, grid.footprint(), among);
}

void render_tile(const Surfaces& surfaces, const Lens& lens, int x0, int y0, cv::Mat& out) {
  const SightGrid grid(lens, surfaces.scene().camera.pose, x0, y0);
  // Half the pixel's diagonal on the table, and a little for the change of footprint within the tile.
  const double radius = std::min(0.78 * grid.footprint(), OutlineField::near_limit);
  const Candidates among = surfaces.candidates(grid.feet(), grid.steepest(), radius + grid.footprint());
  const int x1 = std::min(x0 + tile, out.cols), y1 = std::min(y0 + tile, out.rows);
  for (int y = y0; y < y1; ++y) {
    auto* row = out.ptr<cv::Vec3f>(y);
    for (int x = x0; x < x1; ++x) {
      const Hit hit = surfaces.hit(grid.sight(x - x0, y - y0), radius, among);
      const Colour c = hit.near_edge ? mixed_pixel(surfaces, grid, x - x0, y - y0, among) : radiance(surfaces, hit, grid.footprint(), among);
      row[x] = {c.b, c.g, c.r};
    }
  }
}

}  // namespace

cv::Mat render_light(const Scene& scene) {
  const Surfaces surfaces(scene);
  const Lens lens = upright_lens(scene.camera);
  cv::Mat out(lens.height, lens.width, CV_32FC3);
  const int across = (lens.width + tile - 1) / tile, down = (lens.height + tile - 1) / tile;
  cv::parallel_for_({0, across * down}, [&](const cv::Range& range) {
    for (int t = range.start; t < range.end; ++t) render_tile(surfaces, lens, t % across * tile, t / across * tile, out);
  });
  return out;
}

cv::Mat render_linear(const Scene& scene) { return blurred(render_light(scene), scene.sensor); }

cv::Mat render(const Scene& scene) { return developed(render_light(scene), scene.sensor, scene.seed); }

}  // namespace chalkfold::demo
