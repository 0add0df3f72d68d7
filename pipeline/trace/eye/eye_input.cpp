// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/eye/eye_input.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <string>

#include "pipeline/common/require.h"

namespace chalkfold::trace {
namespace {

// All numbers here are those the network was trained with: demo/train/inputs.py.
constexpr double knee = 0.02;
constexpr int input_channels = 6;

constexpr double coarsest = 100;  // mm per px: a panel would be a pixel or two

/// Linear light of an 8-bit sRGB code, 0 to 1 (IEC 61966-2-1).
double linear_light(int code) {
  const double c = code / 255.0;
  return c <= 0.04045 ? c / 12.92 : std::pow((c + 0.055) / 1.055, 2.4);
}

using CodeTable = std::array<double, 256>;

CodeTable linear_lights() {
  CodeTable out{};
  for (int code = 0; code < 256; ++code) out[static_cast<std::size_t>(code)] = linear_light(code);
  return out;
}

void require_mask(const char* name, const cv::Mat& mask, const cv::Size& size) {
  require(mask.type() == CV_8U, std::string(name) + " is not CV_8U");
  require(mask.size() == size, std::string(name) + " is not of the picture's size");
}

void check(const EyeInput& input) {
  require(input.code.type() == CV_8UC3, "code is not CV_8UC3");
  require(!input.code.empty(), "code is empty");
  require_mask("known", input.known, input.code.size());
  require_mask("ink", input.ink, input.code.size());
  require_mask("unseen", input.unseen, input.code.size());
  require_above("mm_per_px", input.mm_per_px, 0);
  require_within("mm_per_px", input.mm_per_px, 0, coarsest);
}

struct Light {
  cv::Vec3d sum;
  double count = 0;
  cv::Vec3d mean() const { return sum / std::max(1.0, count); }
};

double brightness(const cv::Vec3d& light) { return (light[0] + light[1] + light[2]) / 3; }

/// Summed over the sheets' unprinted paper, as far as it is at least so bright.
Light paper_light(const EyeInput& input, const CodeTable& linear, double least) {
  constexpr int printed = 13;  // of 255: above 0.05 of ink
  Light out;
  for (int y = 0; y < input.code.rows; ++y) {
    const cv::Vec3b* code = input.code.ptr<cv::Vec3b>(y);
    const uchar *known = input.known.ptr(y), *ink = input.ink.ptr(y), *unseen = input.unseen.ptr(y);
    for (int x = 0; x < input.code.cols; ++x) {
      if (known[x] < 128 || ink[x] >= printed || unseen[x] >= 128) continue;
      const cv::Vec3d light(linear[code[x][0]], linear[code[x][1]], linear[code[x][2]]);
      if (brightness(light) < least) continue;
      out.sum += light;
      ++out.count;
    }
  }
  return out;
}

/// Code -> what the network reads of one colour.
std::array<float, 256> colour_channel(const CodeTable& linear, double white) {
  std::array<float, 256> out{};
  for (std::size_t code = 0; code < out.size(); ++code) {
    const double ratio = std::min(linear[code] / white, 2.0);
    out[code] = static_cast<float>(std::log1p(ratio / knee) / std::log1p(1 / knee) - 0.5);
  }
  return out;
}

int filled_up(int px) { return (px + eye_step - 1) / eye_step * eye_step; }

constexpr std::array<float, input_channels> nothing_seen{0, 0, 0, 0, 0, 1};

}  // namespace

cv::Vec3d sheets_white(const EyeInput& input) {
  constexpr double enough = 20;       // px
  constexpr double rounding = 1e-12;  // paper of one code throughout is as bright as its mean
  check(input);
  const CodeTable linear = linear_lights();
  // Shadows and what lies over a sheet are darker than the mean, and drop out.
  Light light = paper_light(input, linear, 0);
  double least = 0;
  for (int round = 0; round < 2; ++round) {
    least = brightness(light.mean()) * (1 - rounding);
    light = paper_light(input, linear, least);
  }
  cv::Vec3d white = light.count > enough ? light.mean() : cv::Vec3d::all(0.7);
  for (int c = 0; c < 3; ++c) white[c] = std::max(white[c], 0.02);
  return white;
}

FeatureMap encoded(const EyeInput& input) {
  const cv::Vec3d white = sheets_white(input);
  const CodeTable linear = linear_lights();
  const std::array colour{colour_channel(linear, white[0]), colour_channel(linear, white[1]),
                          colour_channel(linear, white[2])};
  FeatureMap out(filled_up(input.code.rows), filled_up(input.code.cols), input_channels);
  for (int y = 0; y < out.height(); ++y) {
    const bool inside = y < input.code.rows;
    float* to = out.row(y);
    for (int x = 0; x < out.width(); ++x, to += input_channels) {
      std::copy(nothing_seen.begin(), nothing_seen.end(), to);
      if (!inside || x >= input.code.cols) continue;
      const bool known = input.known.at<uchar>(y, x) >= 128;
      to[3] = known ? 1.0F : 0.0F;
      to[4] = known ? static_cast<float>(input.ink.at<uchar>(y, x)) / 255 : 0.0F;
      if (input.unseen.at<uchar>(y, x) >= 128) continue;
      const auto& code = input.code.at<cv::Vec3b>(y, x);
      for (int c = 0; c < 3; ++c) to[c] = colour[static_cast<std::size_t>(c)][code[c]];
      to[5] = 0;
    }
  }
  return out;
}

}  // namespace chalkfold::trace
