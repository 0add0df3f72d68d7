// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/eye/eye_network.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <cstring>
#include <fstream>
#include <limits>
#include <nlohmann/json.hpp>

#include "pipeline/common/require.h"
#include "pipeline/trace/eye/eye_input.h"
#include "pipeline/trace/eye/eye_maps.h"

namespace chalkfold::trace {
namespace {

using Json = nlohmann::json;

constexpr int maps = 6;

Json built_in_header() { return Json::parse(built_in_eye().header); }

std::vector<float> floats_of(const std::string& name) {
  std::ifstream in(std::string(CHALKFOLD_SOURCE_DIR "/demo/train/weights/") + name, std::ios::binary);
  const std::string bytes((std::istreambuf_iterator<char>(in)), std::istreambuf_iterator<char>());
  std::vector<float> out(bytes.size() / sizeof(float));
  std::memcpy(out.data(), bytes.data(), out.size() * sizeof(float));
  return out;
}

TEST(EyeNetwork, GivesWhatItsTrainingGave) {
  // demo/train/export.py: inputs [6][H][W] and the probabilities that PyTorch computed from them; demo/train/check_weights.py asks for 1e-3, and
  // the order of the sums alone makes 1e-6.
  constexpr double within = 1e-4;
  const EyeNetwork network(built_in_eye());
  const Json samples = built_in_header().at("samples");
  ASSERT_FALSE(samples.empty());
  float surest_panel = 0;
  for (const Json& sample : samples) {
    const int height = sample.at("height"), width = sample.at("width");
    const std::vector<float> data = floats_of(sample.at("file"));
    ASSERT_EQ(data.size(), static_cast<std::size_t>(2 * maps * height * width)) << sample;
    const auto value = [&](int half, int c, int y, int x) {
      return data[static_cast<std::size_t>(((half * maps + c) * height + y) * width + x)];
    };
    FeatureMap input(height, width, maps);
    for (int y = 0; y < height; ++y)
      for (int x = 0; x < width; ++x)
        for (int c = 0; c < maps; ++c) input.row(y)[x * maps + c] = value(0, c, y, x);
    const EyeMaps out =
        probabilities(network.half_size_logits(std::move(input), sample.at("mm_per_px")), {width, height});
    const cv::Mat* got[] = {&out.table, &out.panel, &out.paper, &out.thing, &out.edge, &out.shadow};
    double worst = 0;
    for (int c = 0; c < maps; ++c)
      for (int y = 0; y < height; ++y)
        for (int x = 0; x < width; ++x)
          worst = std::max(worst, std::abs(static_cast<double>(got[c]->at<float>(y, x)) - value(1, c, y, x)));
    for (int i = 0; i < height * width; ++i) surest_panel = std::max(surest_panel, value(1, 1, 0, i));
    EXPECT_LT(worst, within) << sample;
    RecordProperty(sample.at("file").get<std::string>(), fmt::format("{:.1e}", worst));
  }
  EXPECT_GT(surest_panel, 0.5) << "no sample shows a panel: they say little";
}

TEST(EyeNetwork, SizeOfAPixelCounts) {
  const EyeNetwork network(built_in_eye());
  const auto panel = [&](double mm_per_px) {
    FeatureMap input(64, 64, maps);
    for (int y = 0; y < 64; ++y) std::fill_n(input.row(y), 64 * maps, 0.1F);
    return probabilities(network.half_size_logits(std::move(input), mm_per_px), {64, 64}).panel.at<float>(32, 32);
  };
  EXPECT_NE(panel(1.2), panel(2.4));
}

TEST(EyeNetwork, RefusesInputsOfAnotherSize) {
  const EyeNetwork network(built_in_eye());
  EXPECT_THROW(network.half_size_logits(FeatureMap(64, 96, maps), 1.5), PreconditionError);
  EXPECT_THROW(network.half_size_logits(FeatureMap(64, 64, 5), 1.5), PreconditionError);
  EXPECT_THROW(network.half_size_logits(FeatureMap(0, 64, maps), 1.5), PreconditionError);
}

/// What is said of the built-in network's header with a change.
std::string said_of(const std::string& header, std::span<const float> numbers) {
  try {
    const EyeNetwork network({header, numbers});
  } catch (const std::logic_error& error) {
    return error.what();
  }
  return "nothing";
}

template <class Change>
std::string said_of_changed(const Change& change) {
  Json header = built_in_header();
  change(header);
  return said_of(header.dump(), built_in_eye().numbers);
}

TEST(EyeNetwork, SaysWhatIsWrongWithWeights) {
  using testing::HasSubstr;
  const EyeWeights good = built_in_eye();
  EXPECT_EQ(said_of(std::string(good.header), good.numbers), "nothing");
  EXPECT_THAT(said_of(std::string(good.header.substr(0, 500)), good.numbers), HasSubstr("parse error"));
  EXPECT_THAT(said_of("[]", good.numbers), HasSubstr("the network's weights"));
  EXPECT_THAT(said_of(std::string(good.header), good.numbers.first(1000)), HasSubstr("there are 1000 numbers"));
  std::vector<float> spoilt(good.numbers.begin(), good.numbers.end());
  spoilt[77] = std::numeric_limits<float>::quiet_NaN();
  EXPECT_THAT(said_of(std::string(good.header), spoilt), HasSubstr("a number is not finite"));
  EXPECT_THAT(said_of_changed([](Json& h) { h["format"] = "chalkfold eye 2"; }), HasSubstr("chalkfold eye 2"));
  EXPECT_THAT(said_of_changed([](Json& h) { std::swap(h["outputs"][0], h["outputs"][1]); }), HasSubstr("outputs are"));
  EXPECT_THAT(said_of_changed([](Json& h) { h["step"] = 32; }), HasSubstr("step is 32"));
  EXPECT_THAT(said_of_changed([](Json& h) { h["nodes"].erase(h["nodes"].size() - 1); }), HasSubstr("the last node"));
  EXPECT_THAT(said_of_changed([](Json& h) { h["nodes"][2]["op"] = "deconv"; }), HasSubstr("layer deconv is not known"));
  EXPECT_THAT(said_of_changed([](Json& h) { h["nodes"][2]["in"][0] = "n9"; }), HasSubstr("n9 is read before"));
  EXPECT_THAT(said_of_changed([](Json& h) { h["nodes"][2]["channels"] = 17; }), HasSubstr("node 3"));
  EXPECT_THAT(said_of_changed([](Json& h) { h["nodes"][2]["from_channels"] = 24; }),
              HasSubstr("25 channels are given"));
  EXPECT_THAT(said_of_changed([](Json& h) { h["nodes"][2]["weights_at"] = h["count"]; }), HasSubstr("are asked for"));
  EXPECT_THAT(said_of_changed([](Json& h) { h["nodes"][2]["biases_at"] = h["count"]; }), HasSubstr("are asked for"));
  EXPECT_THAT(said_of_changed([](Json& h) { h["nodes"][2]["biases_at"] = -1; }), HasSubstr("biases_at is -1"));
  EXPECT_THAT(said_of_changed([](Json& h) { h["nodes"][3]["groups"] = 4; }), HasSubstr("4 groups are not known"));
  EXPECT_THAT(said_of_changed([](Json& h) { h["nodes"][3].erase("size"); }), HasSubstr("size"));
  EXPECT_THAT(said_of_changed([](Json& h) { h["nodes"][0]["out"] = "n1x"; }), HasSubstr("n0 is read before"));
}

TEST(EyeNetwork, SaysWhichLayerCannotStandAlone) {
  // A doubling that is not added to anything, before the last node.
  EXPECT_THAT(said_of_changed([](Json& h) {
                Json& nodes = h["nodes"];
                const Json last = nodes.back();
                const Json between{{"op", "nearest"}, {"in", last["in"]}, {"out", "alone"}, {"channels", 6}};
                nodes.back() = between;
                nodes.push_back({{"op", "bilinear"}, {"in", {"alone"}}, {"out", "end"}, {"channels", 6}});
              }),
              testing::HasSubstr("can only be run together"));
}

}  // namespace
}  // namespace chalkfold::trace
