// SPDX-License-Identifier: Apache-2.0
#include "demo/camera/render.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <span>
#include <stdexcept>
#include <string>

#include "demo/camera/sensor.h"
#include "demo/camera/shading.h"

namespace chalkfold::demo {

namespace {

constexpr int tile = 32;      // px
constexpr int node_step = 4;  // px between exact lines of sight; between them bilinear, off by under 0.002 px
constexpr int nodes_across = tile / node_step + 1;

// A mixed pixel is measured along lines that run across its edge, each cut where the surface changes. (A lattice of
// points would not do: whichever it is, edges along its rows move in steps of about one over the root of its number of
// points.)
constexpr int scan_lines = 10;
constexpr int stretches = 3;  // per line, probed at their ends: finds whatever is wider than a third of a pixel
// of a stretch whose ends differ: to 1/48 px, half of that at most in error, less by the mean of all lines
constexpr int halvings = 4;

/// Lines of sight of one tile.
class SightGrid {
 public:
  SightGrid(const calib::Lens& lens, const calib::Pose& pose, int x0, int y0) {
    const Mat3 table_from_camera = pose.rotation.transpose();
    const Vec3 eye = pose.centre();
    for (int j = 0; j < nodes_across; ++j) {
      for (int i = 0; i < nodes_across; ++i) {
        const Vec2 ideal = calib::ideal_from_photo(lens, {x0 + i * node_step, y0 + j * node_step});
        const Vec3 ray = table_from_camera * Vec3(ideal.x(), ideal.y(), 1);
        constexpr double flattest = -0.05;
        if (!(ray.z() < flattest && eye.z() > 0)) {
          throw std::logic_error("the camera sees the horizon in pixel " + std::to_string(x0) + ", " +
                                 std::to_string(y0));
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
    const int i = std::clamp(static_cast<int>(gx), 0, nodes_across - 2),
              j = std::clamp(static_cast<int>(gy), 0, nodes_across - 2);
    const double u = gx - i, v = gy - j;
    const Sight &a = at(i, j), &b = at(i + 1, j), &c = at(i, j + 1), &d = at(i + 1, j + 1);
    const double wa = (1 - u) * (1 - v), wb = u * (1 - v), wc = (1 - u) * v, wd = u * v;
    return {wa * a.foot + wb * b.foot + wc * c.foot + wd * d.foot,
            wa * a.slope + wb * b.slope + wc * c.slope + wd * d.slope};
  }

  const geometry::Box& feet() const { return feet_; }
  double steepest() const { return steepest_; }
  double footprint() const { return footprint_; }

 private:
  static std::size_t index(int i, int j) {
    return static_cast<std::size_t>(j) * nodes_across + static_cast<std::size_t>(i);
  }
  Sight& at(int i, int j) { return nodes_[index(i, j)]; }
  const Sight& at(int i, int j) const { return nodes_[index(i, j)]; }

  std::array<Sight, static_cast<std::size_t>(nodes_across) * nodes_across> nodes_;
  geometry::Box feet_;
  double steepest_ = 0, footprint_ = 0;
};

/// The surfaces that share one pixel, each with its share and mean place.
class PixelMix {
 public:
  void add(const Hit& hit, double weight) {
    Entry* e = std::find_if(entries_.begin(), entries_.begin() + used_,
                            [&](const Entry& old) { return old.hit.key() == hit.key(); });
    if (e == entries_.end()) return;  // a thirteenth surface in one pixel
    if (e == entries_.begin() + used_) {
      e->hit = hit;
      ++used_;
    }
    e->weight += weight;
    e->at += weight * hit.at;
    e->normal += weight * hit.normal;
    e->z += weight * hit.z;
  }

  Colour colour(const Surfaces& surfaces, double footprint, const Candidates& among) const {
    Colour sum;
    double total = 0;
    for (const Entry& e : std::span(entries_.data(), static_cast<std::size_t>(used_))) {
      Hit mean = e.hit;
      mean.at = e.at / e.weight;
      mean.z = e.z / e.weight;
      if (mean.surface == Surface::wall) mean.normal = e.normal.normalized();
      sum = sum + radiance(surfaces, mean, footprint, among) * static_cast<float>(e.weight);
      total += e.weight;
    }
    return sum * static_cast<float>(1 / total);
  }

 private:
  struct Entry {
    Hit hit;
    double weight = 0, z = 0;
    Vec2 at = Vec2::Zero(), normal = Vec2::Zero();
  };
  std::array<Entry, 12> entries_;
  int used_ = 0;
};

/// One pixel that several surfaces share.
class MixedPixel {
 public:
  MixedPixel(const Surfaces& surfaces, const SightGrid& grid, double x, double y, const Candidates& among)
      : surfaces_(surfaces), grid_(grid), x_(x), y_(y), among_(among) {}

  Colour colour() {
    // Across the edge: along the direction in which more pairs of the pixel's corners differ.
    const auto corner = [&](double dx, double dy) {
      return surfaces_.hit(grid_.sight(x_ + dx, y_ + dy), 0, among_).key();
    };
    const std::uint32_t a = corner(-0.5, -0.5), b = corner(0.5, -0.5), c = corner(-0.5, 0.5), d = corner(0.5, 0.5);
    upright_ = (a != c) + (b != d) > (a != b) + (c != d);
    for (int line = 0; line < scan_lines; ++line) {
      side_ = (line + 0.5) / scan_lines - 0.5;
      Hit from = hit(-0.5);
      for (int k = 0; k < stretches; ++k) {
        const double start = static_cast<double>(k) / stretches - 0.5,
                     end = static_cast<double>(k + 1) / stretches - 0.5;
        const Hit to = hit(end);
        share(start, from, end, to, halvings);
        from = to;
      }
    }
    return mix_.colour(surfaces_, grid_.footprint(), among_);
  }

 private:
  Hit hit(double along) const {
    return surfaces_.hit(upright_ ? grid_.sight(x_ + side_, y_ + along) : grid_.sight(x_ + along, y_ + side_), 0,
                         among_);
  }

  void share(double start, const Hit& from, double end, const Hit& to, int left) {
    if (left == 0 || from.key() == to.key()) {
      mix_.add(from, 0.5 * (end - start));
      mix_.add(to, 0.5 * (end - start));
      return;
    }
    const double middle = 0.5 * (start + end);
    const Hit between = hit(middle);
    share(start, from, middle, between, left - 1);
    share(middle, between, end, to, left - 1);
  }

  const Surfaces& surfaces_;
  const SightGrid& grid_;
  double x_, y_;
  const Candidates& among_;
  bool upright_ = false;
  double side_ = 0;
  PixelMix mix_;
};

void render_tile(const Surfaces& surfaces, const calib::Lens& lens, int x0, int y0, cv::Mat& out) {
  const SightGrid grid(lens, surfaces.scene().camera.pose, x0, y0);
  // Half the pixel's diagonal on the table, and a little for the change of footprint within the tile.
  const double radius = std::min(0.78 * grid.footprint(), OutlineField::near_limit);
  const Candidates among = surfaces.candidates(grid.feet(), grid.steepest(), radius + grid.footprint());
  const int x1 = std::min(x0 + tile, out.cols), y1 = std::min(y0 + tile, out.rows);
  for (int y = y0; y < y1; ++y) {
    auto* row = out.ptr<cv::Vec3f>(y);
    for (int x = x0; x < x1; ++x) {
      const Hit hit = surfaces.hit(grid.sight(x - x0, y - y0), radius, among);
      const Colour c = hit.near_edge ? MixedPixel(surfaces, grid, x - x0, y - y0, among).colour()
                                     : radiance(surfaces, hit, grid.footprint(), among);
      row[x] = {c.b, c.g, c.r};
    }
  }
}

}  // namespace

cv::Mat render_light(const Scene& scene) {
  const Surfaces surfaces(scene);
  const calib::Lens lens = upright_lens(scene.camera);
  cv::Mat out(lens.height, lens.width, CV_32FC3);
  const int across = (lens.width + tile - 1) / tile, down = (lens.height + tile - 1) / tile;
  cv::parallel_for_({0, across * down}, [&](const cv::Range& range) {
    for (int t = range.start; t < range.end; ++t)
      render_tile(surfaces, lens, t % across * tile, t / across * tile, out);
  });
  return out;
}

cv::Mat render_linear(const Scene& scene) { return blurred(render_light(scene), scene.sensor); }

cv::Mat render(const Scene& scene) { return developed(render_light(scene), scene.sensor, scene.seed); }

}  // namespace chalkfold::demo
