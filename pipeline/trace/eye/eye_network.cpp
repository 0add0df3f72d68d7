// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/eye/eye_network.h"

#include <cmath>
#include <cstring>
#include <map>
#include <nlohmann/json.hpp>
#include <opencv2/dnn.hpp>
#include <opencv2/imgproc.hpp>
#include <stdexcept>
#include <string>

#include "pipeline/common/require.h"

extern "C" {
extern const char chalkfold_eye_header[], chalkfold_eye_header_end[];
extern const char chalkfold_eye_weights[], chalkfold_eye_weights_end[];
}

namespace chalkfold::trace {
namespace {

constexpr int channels_in = 6, maps_out = 6;
constexpr double usual_mm_per_px = 1.5;  // as in training: the appended number is the difference from it

/// The built-in network: its layers in running order and their numbers.
struct EyeData {
  nlohmann::json nodes;
  std::vector<float> numbers;
};

const EyeData& eye_data() {
  static const EyeData data = [] {
    EyeData d;
    const auto header = nlohmann::json::parse(chalkfold_eye_header, chalkfold_eye_header_end);
    const auto bytes = static_cast<std::size_t>(chalkfold_eye_weights_end - chalkfold_eye_weights);
    if (header.at("format") != "chalkfold eye 1" || header.at("step") != eye_step ||
        header.at("count").get<std::size_t>() * sizeof(float) != bytes)
      throw std::logic_error(
          "the network that is built into the program is damaged: its header does not fit its numbers");
    d.nodes = header.at("nodes");
    d.numbers.resize(bytes / sizeof(float));
    std::memcpy(d.numbers.data(), chalkfold_eye_weights, bytes);
    return d;
  }();
  return data;
}

/// Numbers of a layer as a matrix of its own.
cv::Mat numbers(const EyeData& data, std::size_t at, const std::vector<int>& shape) {
  std::size_t count = 1;
  for (const int n : shape) count *= static_cast<std::size_t>(n);
  if (at + count > data.numbers.size())
    throw std::logic_error(
        "the network that is built into the program is damaged: a layer asks for more numbers than there are");
  cv::Mat out(shape, CV_32F);
  std::memcpy(out.ptr<float>(), data.numbers.data() + at, count * sizeof(float));
  return out;
}

cv::dnn::LayerParams convolution(const EyeData& data, const nlohmann::json& node) {
  const int size = node.at("size"), stride = node.at("stride"), groups = node.at("groups"), out = node.at("channels"),
            in = node.at("from_channels");
  cv::dnn::LayerParams p;
  p.set("kernel_size", size);
  p.set("stride", stride);
  p.set("pad", (size - stride + 1) / 2);
  p.set("num_output", out);
  p.set("group", groups);
  p.set("bias_term", true);
  p.blobs.push_back(numbers(data, node.at("weights_at"), {out, in / groups, size, size}));
  p.blobs.push_back(numbers(data, node.at("biases_at"), {out}));
  return p;
}

/// All that lies between the rearranged picture and the maps at half its size.
cv::dnn::Net network(const EyeData& data) {
  cv::dnn::Net net;
  std::map<std::string, int> made;
  for (const auto& node : data.nodes) {
    const std::string op = node.at("op"), name = node.at("out");
    if (op == "space_to_depth" || op == "append") {  // done beforehand; layer 0 is the net's input
      made[name] = 0;
      continue;
    }
    if (op == "bilinear") continue;  // done afterwards
    cv::dnn::LayerParams p;
    int layer = 0;
    if (op == "conv") {
      p = convolution(data, node);
      layer = net.addLayer(name, "Convolution", p);
    } else if (op == "add") {
      p.set("operation", "sum");
      layer = net.addLayer(name, "Eltwise", p);
    } else if (op == "nearest") {
      p.set("interpolation", "nearest");
      p.set("zoom_factor_x", 2);
      p.set("zoom_factor_y", 2);
      layer = net.addLayer(name, "Resize", p);
    } else {
      throw std::logic_error("the network that is built into the program is damaged: unknown layer " + op);
    }
    int input = 0;
    for (const std::string from : node.at("in")) net.connect(made.at(from), 0, layer, input++);
    if (node.value("relu", false)) {
      cv::dnn::LayerParams rectifier;
      const int after = net.addLayer(name + "+", "ReLU", rectifier);
      net.connect(layer, 0, after, 0);
      layer = after;
    }
    made[name] = layer;
  }
  net.setPreferableBackend(cv::dnn::DNN_BACKEND_OPENCV);
  net.setPreferableTarget(cv::dnn::DNN_TARGET_CPU);
  return net;
}

/// Every 2 x 2 px as four values one after another: (row, column, channel), and one plane of the scale.
cv::Mat rearranged(const std::vector<cv::Mat>& channels, double scale) {
  const int rows = channels.front().rows / 2, columns = channels.front().cols / 2;
  cv::Mat blob({1, 4 * channels_in + 1, rows, columns}, CV_32F);
  int plane = 0;
  for (int row = 0; row < 2; ++row)
    for (int column = 0; column < 2; ++column)
      for (const cv::Mat& c : channels) {
        cv::Mat to(rows, columns, CV_32F, blob.ptr<float>(0, plane++));
        for (int y = 0; y < rows; ++y) {
          const auto* from = c.ptr<float>(2 * y + row) + column;
          auto* out = to.ptr<float>(y);
          for (int x = 0; x < columns; ++x) out[x] = from[2 * x];
        }
      }
  cv::Mat(rows, columns, CV_32F, blob.ptr<float>(0, plane)).setTo(scale);
  return blob;
}

/// Of the first four, which add up to one, and of each of the others by itself.
void make_probabilities(std::vector<cv::Mat>& maps) {
  constexpr std::size_t kinds = 4;
  for (int y = 0; y < maps[0].rows; ++y)
    for (int x = 0; x < maps[0].cols; ++x) {
      float top = maps[0].at<float>(y, x), sum = 0;
      for (std::size_t k = 1; k < kinds; ++k) top = std::max(top, maps[k].at<float>(y, x));
      for (std::size_t k = 0; k < kinds; ++k) sum += maps[k].at<float>(y, x) = std::exp(maps[k].at<float>(y, x) - top);
      for (std::size_t k = 0; k < kinds; ++k) maps[k].at<float>(y, x) /= sum;
      for (std::size_t k = kinds; k < maps.size(); ++k)
        maps[k].at<float>(y, x) = 1 / (1 + std::exp(-maps[k].at<float>(y, x)));
    }
}

}  // namespace

std::vector<cv::Mat> run_eye(const std::vector<cv::Mat>& channels, double mm_per_px) {
  require_equal("channels", channels.size(), static_cast<std::size_t>(channels_in));
  const cv::Size size = channels.front().size();
  require_above("columns", size.width, 0);
  require_above("rows", size.height, 0);
  for (const cv::Mat& c : channels)
    require(c.type() == CV_32F && c.size() == size, "channels of one size are needed, CV_32F");
  require(size.width % eye_step == 0 && size.height % eye_step == 0,
          "sides that are multiples of the network's step are needed");
  cv::dnn::Net net = network(eye_data());  // made anew each time: a net is for one thread
  net.setInput(rearranged(channels, mm_per_px - usual_mm_per_px));
  cv::Mat out = net.forward();
  if (out.dims != 4 || out.size[1] != maps_out)
    throw std::logic_error("the network that is built into the program is damaged: it does not end in six maps");
  std::vector<cv::Mat> maps(maps_out);
  for (int k = 0; k < maps_out; ++k)
    cv::resize(cv::Mat(out.size[2], out.size[3], CV_32F, out.ptr<float>(0, k)), maps[static_cast<std::size_t>(k)], size,
               0, 0, cv::INTER_LINEAR);
  make_probabilities(maps);
  return maps;
}

}  // namespace chalkfold::trace
