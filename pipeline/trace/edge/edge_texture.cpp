// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/edge/edge_texture.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "pipeline/trace/edge/coded_colour.h"

namespace chalkfold::trace {
namespace {

// fitted: outline_accuracy.py, seeds 9001, 21001, 31001, 41001
constexpr int along_reach = 5;  // profiles either side that are averaged: a centimetre
constexpr double step = 0.2;    // mm between depths
// mm past the edge up to which texture is foretold: blur brings it in, and the edge is known to some tenths
constexpr double beyond = 0.6;
constexpr double edge_known = 0.2;     // mm, how well it is
constexpr double uncertain = 0.8;      // mm by which edges differ from 0 at most
constexpr int taps = 6, tap_step = 2;  // depths that foretell, and their spacing: 2.4 mm, more than half a rib
constexpr int stretch = 20,
              stretch_rim = 10;  // profiles that share their weights, and those on either side that are learnt from too

int wrapped(int i, int n, bool closed) { return closed ? ((i % n) + n) % n : std::clamp(i, 0, n - 1); }

Eigen::Vector3f light_at(const EdgeProfile& p, double x) {
  const double i = std::clamp((x - p.first) / p.step, 0.0, static_cast<double>(p.linear.size() - 1) - 1e-6);
  const auto k = static_cast<std::size_t>(i);
  const auto t = static_cast<float>(i - static_cast<double>(k));
  return (1 - t) * p.linear[k] + t * p.linear[k + 1];
}

/// Depths of the texture: row 0 lies `top` outside the edge, each row a step farther in; rows before `seen` are foretold.
struct Depths {
  int seen = 0, rows = 0;
  double top = 0;

  Depths(double blur, double deepest) {
    // mm inside the edge: three sigmas of the blur, and how well the edge is known; what lies beyond it reaches so far
    const double hidden = 3 * blur + edge_known;
    seen = static_cast<int>(std::ceil((beyond + hidden) / step));
    top = seen * step - hidden;
    rows = seen + static_cast<int>((-deepest - hidden - uncertain) / step);
  }
  double row_of(double from_edge) const { return (top - from_edge) / step; }
};

/// The texture beside every profile, each channel relative to its own level: row = depth, column = 3 * profile + channel.
struct Texture {
  Eigen::MatrixXf relief;
  Eigen::RowVectorXf level;
};

/// Of a profile; as many columns as are before it.
Eigen::Index first_column(int profile) { return 3 * Eigen::Index{profile}; }

Texture seen_texture(const TexturedEdges& seen, const Depths& depths) {
  const int n = static_cast<int>(seen.deep.size()), known = depths.rows - depths.seen;
  const Eigen::Index columns = first_column(n);
  Eigen::MatrixXf single(known, columns);
  for (int i = 0; i < n; ++i) {
    const auto s = static_cast<std::size_t>(i);
    for (int k = 0; k < known; ++k) {
      single.block<1, 3>(k, first_column(i)) =
          light_at(seen.deep[s], seen.edges[s] + depths.top - (depths.seen + k) * step).transpose();
    }
  }
  Texture out{Eigen::MatrixXf::Zero(depths.rows, columns), Eigen::RowVectorXf::Zero(columns)};
  for (int i = 0; i < n; ++i) {
    auto mean = out.relief.block(depths.seen, first_column(i), known, 3);
    for (int d = -along_reach; d <= along_reach; ++d)
      mean += single.block(0, first_column(wrapped(i + d, n, seen.closed)), known, 3);
    mean /= 2 * along_reach + 1;
    for (int c = 0; c < 3; ++c) {
      out.level[3 * i + c] = mean.col(c).mean() + static_cast<float>(darkest_light);
      mean.col(c).array() = (mean.col(c).array() - mean.col(c).mean()) / out.level[3 * i + c];
    }
  }
  return out;
}

using Taps = Eigen::Matrix<double, taps, 1>;

/// The texture deeper in, relative to that of a row.
Taps taps_of(const Eigen::MatrixXf& relief, int row, int column) {
  Taps x;
  for (int t = 0; t < taps; ++t) x[t] = relief(row + (t + 1) * tap_step, column) - relief(row, column);
  return x;
}

/// What a stretch teaches of how the texture goes on towards the edge.
class Lesson {
 public:
  explicit Lesson(int ahead) : right_(Eigen::MatrixXd::Zero(taps, ahead)) {}

  /// Takes in a column of the relief, at the depths where the rows before are seen too.
  void learn(const Eigen::MatrixXf& relief, const Depths& depths, int column) {
    for (int row = 2 * depths.seen; row + taps * tap_step < depths.rows; ++row) {
      const Taps x = taps_of(relief, row, column);
      normal_ += x * x.transpose();
      for (int ahead = 0; ahead < right_.cols(); ++ahead)
        right_.col(ahead) += (relief(row - 1 - ahead, column) - relief(row, column)) * x;
      ++count_;
    }
  }

  /// Weights for the rows before a seen one, a column for each, the nearest first. `usual`: mean square of the taps they are meant for: what is as large as
  /// that and was not learnt from is not foretold.
  Eigen::MatrixXd weights(double usual) const {
    constexpr double ridge = 0.1;  // of the mean square: a pure wave is told by two taps, the others would be arbitrary
    const double square = std::max(normal_.trace(), usual * count_);
    Eigen::Matrix<double, taps, taps> normal = normal_;
    normal.diagonal().array() += ridge * square / taps + 1e-9;
    return normal.ldlt().solve(right_);
  }

 private:
  Eigen::Matrix<double, taps, taps> normal_ = Eigen::Matrix<double, taps, taps>::Zero();
  Eigen::MatrixXd right_;
  int count_ = 0;
};

/// Fills the rows before the seen ones.
void foretell(Eigen::MatrixXf& relief, const Depths& depths, bool closed) {
  const int n = static_cast<int>(relief.cols()) / 3;
  for (int first = 0; first < n; first += stretch) {
    const int last = std::min(n, first + stretch);
    Lesson lesson(depths.seen);
    for (int i = first - stretch_rim; i < last + stretch_rim; i += 2) {
      if (!closed && (i < 0 || i >= n)) continue;
      for (int c = 0; c < 3; ++c) lesson.learn(relief, depths, 3 * wrapped(i, n, closed) + c);
    }
    double usual = 0;
    for (int column = 3 * first; column < 3 * last; ++column)
      usual += taps_of(relief, depths.seen, column).squaredNorm() / (3 * (last - first));
    const Eigen::MatrixXd weights = lesson.weights(usual);
    for (int column = 3 * first; column < 3 * last; ++column) {
      const Taps x = taps_of(relief, depths.seen, column);
      for (int ahead = 0; ahead < depths.seen; ++ahead) {
        relief(depths.seen - 1 - ahead, column) =
            relief(depths.seen, column) + static_cast<float>(weights.col(ahead).dot(x));
      }
    }
  }
}

}  // namespace

std::vector<double> texture_along(const std::vector<EdgeProfile>& profiles, bool closed) {
  constexpr double from = -4.2, to = -1.2;  // mm: all panel
  const int n = static_cast<int>(profiles.size());
  std::vector<double> out(profiles.size(), 0);
  if (n < 2 * along_reach + 1) return out;
  const EdgeProfile& like = profiles.front();
  const int first = std::max(0, static_cast<int>(std::ceil((from - like.first) / like.step)));
  const int depths = static_cast<int>((to - like.first) / like.step) - first + 1;
  Eigen::MatrixXf coded(depths, n);  // a square root is near enough the tone curve
  for (int i = 0; i < n; ++i) {
    const Eigen::Vector3f* linear = profiles[static_cast<std::size_t>(i)].linear.data() + first;
    for (int k = 0; k < depths; ++k) coded(k, i) = std::sqrt(std::max(0.0F, linear[k].mean()));
  }
  const Eigen::RowVectorXf middle = coded.colwise().mean();
  coded.rowwise() -= middle;
  const Eigen::RowVectorXf square = coded.colwise().squaredNorm();
  for (int i = 0; i < n; ++i) {
    Eigen::VectorXf mean = Eigen::VectorXf::Zero(depths);
    float each = 0;
    for (int d = -along_reach; d <= along_reach; ++d) {
      const int j = wrapped(i + d, n, closed);
      mean += coded.col(j);
      each += square[j];
    }
    const float together = mean.squaredNorm() / (2 * along_reach + 1);
    out[static_cast<std::size_t>(i)] = static_cast<double>(together / std::max(each, 1e-9F));
  }
  return out;
}

double share_taken_out(double along) {
  // Grain, weave and leather have 0.1 to 0.2, seldom 0.3; ribs along the edge from 0.6 on (rendered photographs of two renderers).
  constexpr double none = 0.25, all = 0.5;
  return std::clamp((along - none) / (all - none), 0.0, 1.0);
}

void take_out_texture(const TexturedEdges& seen, std::vector<EdgeProfile>& profiles) {
  if (profiles.size() < 2 * along_reach + 1) return;
  const Depths depths(*std::max_element(seen.blur.begin(), seen.blur.end()), seen.deep.front().first);
  if (2 * depths.seen + taps * tap_step >= depths.rows) return;  // so blurred that no pattern is left
  Texture texture = seen_texture(seen, depths);
  foretell(texture.relief, depths, seen.closed);
  for (std::size_t i = 0; i < profiles.size(); ++i) {
    const double share = share_taken_out(seen.along[i]);
    if (share <= 0) continue;
    EdgeProfile& p = profiles[i];
    for (std::size_t m = 0; m < p.linear.size(); ++m) {
      const double from_edge = p.at(m) - seen.edges[i], row = depths.row_of(from_edge);
      if (row < 0 || row >= depths.rows - 1) continue;
      const auto k = static_cast<Eigen::Index>(row);
      const auto t = static_cast<float>(row - static_cast<double>(k));
      const double panel = 0.5 * std::erfc(from_edge / (seen.blur[i] * std::numbers::sqrt2));
      for (int c = 0; c < 3; ++c) {
        const auto column = static_cast<Eigen::Index>(3 * i) + c;
        const float relief = (1 - t) * texture.relief(k, column) + t * texture.relief(k + 1, column);
        p.linear[m][c] -= static_cast<float>(share * panel) * texture.level[column] * relief;
      }
    }
  }
}

}  // namespace chalkfold::trace
