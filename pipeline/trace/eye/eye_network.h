// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <memory>
#include <vector>

#include "pipeline/trace/eye/eye_layers.h"
#include "pipeline/trace/eye/eye_weights.h"

namespace chalkfold::trace {

/// A trained network, ready to run: the list of nodes that demo/train/network.py describes.
class EyeNetwork {
 public:
  /// Throws std::logic_error, with what is wrong and where, when the weights are not what export.py writes, or use a layer that is not known here.
  explicit EyeNetwork(const EyeWeights& weights);

  /// `input`: channels as encoded() gives them, height and width multiples of eye_step. Gives table, panel, paper, thing, edge, shadow at half the size,
  /// before the last node, the bilinear doubling, which probabilities() does.
  FeatureMap half_size_logits(FeatureMap input, double mm_per_px,
                              Instructions instructions = best_instructions()) const;

 private:
  enum class Kind { space_to_depth, append, conv, add, nearest };
  /// A node, or several that are run together.
  struct Node {
    Kind kind;
    /// places in the list of maps: 0 is the network's input, k + 1 what the k-th node of the list gives
    std::vector<std::size_t> in;
    std::size_t out;
    /// of a conv, either or both; with two inputs it adds the second to what comes out. A nearest with two doubles the second and adds the first
    std::shared_ptr<const Convolution> depthwise, dense;
    /// a conv that does space_to_depth and append before
    bool gather = false;
    /// maps that nobody reads after this node
    std::vector<std::size_t> done_with;
  };
  struct Reader;

  static bool taken_in(Node& last, const Node& node);
  static std::vector<Node> put_together(const std::vector<Node>& nodes);

  std::vector<Node> nodes_;
};

}  // namespace chalkfold::trace
