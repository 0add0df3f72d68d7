// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/eye/eye_network.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <nlohmann/json.hpp>
#include <stdexcept>
#include <string>

#include "pipeline/common/require.h"
#include "pipeline/trace/eye/eye_input.h"

namespace chalkfold::trace {
namespace {

using Json = nlohmann::json;

constexpr int input_channels = 6;
const std::vector<std::string> outputs{"table", "panel", "paper", "thing", "edge", "shadow"};

[[noreturn]] void wrong(const std::string& what) { throw std::logic_error("the network's weights: " + what); }

/// A whole number of a node, within bounds that no network of this kind leaves.
int number(const Json& node, const char* key, int least) {
  constexpr int most = 1 << 24;
  const auto value = node.at(key).get<std::int64_t>();
  if (value < least || value > most) wrong(fmt::format("{} is {}, {} to {} needed", key, value, least, most));
  return static_cast<int>(value);
}

}  // namespace

/// Reads the list of nodes; knows the channels of every map so far.
struct EyeNetwork::Reader {
  const EyeWeights& weights;
  std::map<std::string, std::size_t> place{{"input", 0}};
  std::vector<int> channels{input_channels};

  std::size_t source(const Json& node, std::size_t k) const {
    const auto& name = node.at("in").at(k).get_ref<const std::string&>();
    const auto found = place.find(name);
    if (found == place.end()) wrong(fmt::format("{} is read before anything gives it", name));
    return found->second;
  }

  std::shared_ptr<const Convolution> convolution(const Json& node) const {
    ConvolutionShape shape;
    shape.from_channels = number(node, "from_channels", 1);
    shape.channels = number(node, "channels", 1);
    shape.size = number(node, "size", 1);
    shape.stride = number(node, "stride", 1);
    shape.relu = node.at("relu").get<bool>();
    const int groups = number(node, "groups", 1);
    shape.depthwise = groups > 1;
    if (shape.depthwise && groups != shape.from_channels) wrong(fmt::format("{} groups are not known", groups));
    const std::size_t count = weights.numbers.size(), weight_count = Convolution::weight_count(shape),
                      channel_count = static_cast<std::size_t>(shape.channels);
    const auto weights_at = static_cast<std::size_t>(number(node, "weights_at", 0)),
               biases_at = static_cast<std::size_t>(number(node, "biases_at", 0));
    if (weight_count > count || weights_at > count - weight_count || channel_count > count ||
        biases_at > count - channel_count)
      wrong(fmt::format("numbers at {} and {} are asked for, there are {}", weights_at, biases_at, count));
    return std::make_shared<Convolution>(shape, &weights.numbers[weights_at], &weights.numbers[biases_at]);
  }

  int channels_of(const Node& node) const {
    const int from = channels[node.in[0]];
    switch (node.kind) {
      case Kind::space_to_depth:
        return 4 * from;
      case Kind::append:
        return from + 1;
      case Kind::conv: {
        const ConvolutionShape& shape = (node.dense ? node.dense : node.depthwise)->shape();
        if (shape.from_channels != from)
          wrong(fmt::format("{} channels are given, {} wanted", from, shape.from_channels));
        return shape.channels;
      }
      case Kind::add:
        if (channels[node.in[1]] != from)
          wrong(fmt::format("{} and {} channels are added", from, channels[node.in[1]]));
        return from;
      case Kind::nearest:
        return from;
    }
    return 0;
  }

  Node read(const Json& json) {
    static const std::map<std::string, Kind> kinds{{"space_to_depth", Kind::space_to_depth},
                                                   {"append", Kind::append},
                                                   {"conv", Kind::conv},
                                                   {"add", Kind::add},
                                                   {"nearest", Kind::nearest}};
    const auto& op = json.at("op").get_ref<const std::string&>();
    const auto kind = kinds.find(op);
    if (kind == kinds.end()) wrong(fmt::format("layer {} is not known here", op));
    Node node{kind->second, {source(json, 0)}, channels.size(), nullptr, nullptr, false, {}};
    if (node.kind == Kind::conv) {
      auto read = convolution(json);
      (read->shape().depthwise ? node.depthwise : node.dense) = std::move(read);
    }
    if (node.kind == Kind::add) node.in.push_back(source(json, 1));
    channels.push_back(channels_of(node));
    if (channels.back() != number(json, "channels", 1))
      wrong(fmt::format("{} channels come out, {} are said to", channels.back(), number(json, "channels", 1)));
    place[json.at("out").get<std::string>()] = node.out;
    return node;
  }

  std::vector<Node> read_all() {
    const Json header = Json::parse(weights.header);
    if (header.at("format") != "chalkfold eye 1") wrong("format is " + header.at("format").dump());
    if (header.at("step") != eye_step) wrong("step is " + header.at("step").dump());
    if (header.at("input_channels") != input_channels) wrong("input_channels is " + header.at("input_channels").dump());
    if (header.at("outputs") != outputs) wrong("outputs are " + header.at("outputs").dump());
    if (header.at("count") != weights.numbers.size())
      wrong(fmt::format("there are {} numbers, {} are said to be", weights.numbers.size(), header.at("count").dump()));
    if (!std::all_of(weights.numbers.begin(), weights.numbers.end(), [](float v) { return std::isfinite(v); }))
      wrong("a number is not finite");
    const Json& list = header.at("nodes");
    std::vector<Node> nodes;
    for (std::size_t k = 0; k + 1 < list.size(); ++k) {
      try {
        nodes.push_back(read(list[k]));
      } catch (const std::exception& error) {
        throw std::logic_error(fmt::format("node {}: {}", k, error.what()));
      }
    }
    if (list.size() < 2 || list.back().at("op") != "bilinear") wrong("the last node does not double its map");
    if (source(list.back(), 0) != nodes.size()) wrong("the last node reads another than the last but one");
    if (channels.back() != static_cast<int>(outputs.size())) wrong(fmt::format("{} maps come out", channels.back()));
    return nodes;
  }
};

/// Does a node become part of the one before it, whose only reader it is? `last` is then both.
bool EyeNetwork::taken_in(Node& last, const Node& node) {
  const bool mixes = node.kind == Kind::conv && node.dense && node.dense->shape().size == 1;
  // of an addition: what is not `last`
  const std::size_t other = node.in.back() == last.out ? node.in.front() : node.in.back();
  if (last.kind == Kind::space_to_depth && node.kind == Kind::append) {
    last.kind = Kind::append;
    last.gather = true;
  } else if (last.kind == Kind::append && last.gather && mixes) {
    last.kind = Kind::conv;
    last.dense = node.dense;
  } else if (last.kind == Kind::conv && last.in.size() == 1 && !last.dense && mixes) {
    last.dense = node.dense;
  } else if (last.kind == Kind::conv && last.in.size() == 1 && node.kind == Kind::add) {
    last.in.push_back(other);
  } else if (last.kind == Kind::nearest && node.kind == Kind::add) {
    last.in.insert(last.in.begin(), other);
  } else {
    return false;
  }
  last.out = node.out;
  return true;
}

std::vector<EyeNetwork::Node> EyeNetwork::put_together(const std::vector<Node>& nodes) {
  std::map<std::size_t, int> readers;
  for (const Node& node : nodes)
    for (const std::size_t map : node.in) ++readers[map];
  std::vector<Node> out;
  for (const Node& node : nodes) {
    const bool reads_last = !out.empty() && std::count(node.in.begin(), node.in.end(), out.back().out) > 0;
    if (!reads_last || readers[out.back().out] != 1 || !taken_in(out.back(), node)) out.push_back(node);
  }
  for (const Node& node : out) {
    const bool runs = node.kind == Kind::conv || (node.kind == Kind::nearest && node.in.size() == 2);
    if (!runs) wrong(fmt::format("what gives map {} can only be run together with other layers", node.out));
  }
  return out;
}

EyeNetwork::EyeNetwork(const EyeWeights& weights) {
  try {
    nodes_ = put_together(Reader{weights}.read_all());
  } catch (const nlohmann::json::exception& error) {
    wrong(error.what());
  }
  std::map<std::size_t, bool> read_later{{nodes_.back().out, true}};
  for (auto node = nodes_.rbegin(); node != nodes_.rend(); ++node) {
    for (const std::size_t map : node->in) {
      if (!read_later[map]) node->done_with.push_back(map);
      read_later[map] = true;
    }
  }
}

FeatureMap EyeNetwork::half_size_logits(FeatureMap input, double mm_per_px, Instructions instructions) const {
  constexpr double usual_mm_per_px = 1.5;  // demo/train/inputs.py
  require_equal("channels", input.channels(), input_channels);
  require_at_least("height", input.height(), eye_step);
  require_at_least("width", input.width(), eye_step);
  require(input.height() % eye_step == 0 && input.width() % eye_step == 0, "the size is no multiple of eye_step");
  const auto appended = static_cast<float>(mm_per_px - usual_mm_per_px);
  MapStore store;
  std::vector<FeatureMap> maps(nodes_.back().out + 1);
  maps[0] = std::move(input);
  for (const Node& node : nodes_) {
    const FeatureMap& in = maps[node.in[0]];
    const FeatureMap* more = node.in.size() > 1 ? &maps[node.in[1]] : nullptr;
    maps[node.out] =
        node.kind == Kind::conv
            ? convolved({in, node.gather, appended, node.depthwise.get(), node.dense.get(), more}, store, instructions)
            : sum_with_doubled(in, *more, store);
    for (const std::size_t map : node.done_with) store.give_back(std::move(maps[map]));
  }
  return std::move(maps.back());
}

}  // namespace chalkfold::trace
