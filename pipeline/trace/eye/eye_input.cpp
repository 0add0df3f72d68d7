// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/eye/eye_input.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace chalkfold::trace {
namespace {

// All as in demo/train/inputs.py: the network has learnt on these.
constexpr double knee = 0.02;     // of white: below, the curve is no logarithm any more
constexpr double most_light = 2;  // of white
constexpr double no_white = 0.7;  // linear: where no sheet shows its paper
constexpr double darkest_white = 0.02;
constexpr int fewest_white = 20;  // px
constexpr int ink_free = 12;      // of 255: unprinted paper

using Linear = std::array<float, 256>;

Linear linear_table() {
  Linear out;
  for (std::size_t i = 0; i < out.size(); ++i) {
    const double code = static_cast<double>(i) / 255;
    out[i] = static_cast<float>(code <= 0.04045 ? code / 12.92 : std::pow((code + 0.055) / 1.055, 2.4));
  }
  return out;
}

/// Linear light of the sheets' unprinted paper: its mean, then twice the mean of what is no darker than the mean before, so that shadows and what lies over a
/// sheet drop out.
cv::Vec3d white_of(const EyeInput& in, const Linear& linear) {
  std::vector<cv::Vec3f> paper;
  for (int y = 0; y < in.code.rows; ++y)
    for (int x = 0; x < in.code.cols; ++x)
      if (in.paper.at<unsigned char>(y, x) > 0 && in.ink.at<unsigned char>(y, x) <= ink_free &&
          in.visible.at<unsigned char>(y, x) > 0) {
        const auto& c = in.code.at<cv::Vec3b>(y, x);
        paper.emplace_back(linear[c[0]], linear[c[1]], linear[c[2]]);
      }
  const auto brightness = [](const cv::Vec3f& v) { return (static_cast<double>(v[0]) + v[1] + v[2]) / 3; };
  constexpr int rounds = 2;
  for (int round = 0; round < rounds && !paper.empty(); ++round) {
    double mean = 0;
    for (const cv::Vec3f& v : paper) mean += brightness(v) / static_cast<double>(paper.size());
    std::erase_if(paper, [&](const cv::Vec3f& v) { return brightness(v) < mean; });
  }
  if (static_cast<int>(paper.size()) <= fewest_white) return cv::Vec3d::all(no_white);
  cv::Vec3d white = cv::Vec3d::all(0);
  for (const cv::Vec3f& v : paper) white += cv::Vec3d(v) / static_cast<double>(paper.size());
  for (int c = 0; c < 3; ++c) white[c] = std::max(white[c], darkest_white);
  return white;
}

/// Value of a channel for each code: near a logarithm of light over white, so that a shadow's ratio is nearly a difference.
std::array<float, 256> curve_table(const Linear& linear, double white) {
  std::array<float, 256> out;
  for (std::size_t i = 0; i < out.size(); ++i) {
    const double ratio = std::min(most_light, static_cast<double>(linear[i]) / white);
    out[i] = static_cast<float>(std::log1p(ratio / knee) / std::log(1 + 1 / knee) - 0.5);
  }
  return out;
}

}  // namespace

std::vector<cv::Mat> eye_channels(const EyeInput& in, int step) {
  const cv::Size size(step * ((in.code.cols + step - 1) / step), step * ((in.code.rows + step - 1) / step));
  std::vector<cv::Mat> channels(6);
  for (cv::Mat& c : channels) c = cv::Mat::zeros(size, CV_32F);
  channels[5].setTo(1);
  const Linear linear = linear_table();
  const cv::Vec3d white = white_of(in, linear);
  const std::array curves{curve_table(linear, white[0]), curve_table(linear, white[1]), curve_table(linear, white[2])};
  for (int y = 0; y < in.code.rows; ++y)
    for (int x = 0; x < in.code.cols; ++x) {
      const bool seen = in.visible.at<unsigned char>(y, x) > 0, known = in.paper.at<unsigned char>(y, x) > 0;
      const auto& code = in.code.at<cv::Vec3b>(y, x);
      for (std::size_t c = 0; c < curves.size() && seen; ++c)
        channels[c].at<float>(y, x) = curves[c][code[static_cast<int>(c)]];
      channels[3].at<float>(y, x) = known ? 1.0f : 0.0f;
      channels[4].at<float>(y, x) = known ? static_cast<float>(in.ink.at<unsigned char>(y, x)) / 255.0f : 0.0f;
      channels[5].at<float>(y, x) = seen ? 0.0f : 1.0f;
    }
  return channels;
}

}  // namespace chalkfold::trace
