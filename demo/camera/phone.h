// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <opencv2/core.hpp>

namespace chalkfold::demo {

/// What a phone does between the light on its sensor and its JPEG. A model, not a phone: its parts are those that every phone has,
/// their sizes what public photographs of printed boards by four phones show (overshoot beside an edge 2 to 11 % of its step, 10-90 %
/// width 1.2 to 2.2 px, noise 0.8 to 2.6 of 255).
struct PhoneOptions {
  /// sensitivity; 100: some 8000 electrons at white
  double iso = 200;
  /// Gaussian sigma, px: low-pass filter and pixel's aperture, on top of the lens's blur (Sensor)
  double blur_px = 0.5;
  /// px, length of the hand's way during the exposure, 0: held still
  double motion_px = 0;
  /// rad, direction of that way, from the picture's x to its y (down)
  double motion_direction = 0;
  /// lateral colour, px in the picture's corner: red is drawn larger by it, blue smaller
  double lateral_colour_px = 0;
  /// strength of noise removal, 0: none, 1: usual; it grows with iso
  double denoise = 1;
  /// local tone mapping, share: 0: none, 1: large bright and dark regions drawn together as far as phones do
  double local = 0.5;
  /// strength of sharpening, 0: none, 1: usual; it leaves halos
  double sharpen = 1;
  /// of the JPEG, whose colour is halved both ways (4:2:0)
  int quality = 90;

  /// Throws UsageError when a value lies out of its range.
  void check() const;
};

/// What a phone of today might have done, by the seed: iso 100 to 1600 (its logarithm evenly), motion 0 to 3 px, lateral colour 0 to
/// 0.7 px, local 0 to 1, sharpen 0.6 to 1.6, quality 80 to 95, all evenly.
PhoneOptions random_phone(std::uint64_t seed);

/// The phone's picture, CV_8UC3 BGR, of the light that its lens throws on the sensor (render_linear: CV_32FC3 BGR, linear, 1 = white):
/// lateral colour, motion, blur, RGGB mosaic with shot and read noise, demosaicing (H. Malvar, L. He, R. Cutler, "High-quality linear
/// interpolation for demosaicing of Bayer-patterned color images", 2004), noise removal, local tone mapping, contrast curve, sharpening.
/// The JPEG is left to the writer. Noise depends on seed and pixel only; the same for any number of threads. Precondition: at least
/// 16 x 16 px.
cv::Mat phone_picture(const cv::Mat& linear, const PhoneOptions& options, std::uint64_t seed);

}  // namespace chalkfold::demo
