// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/layout/roll_layout.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <optional>

#include "pipeline/common/check_option.h"
#include "pipeline/common/error.h"
#include "pipeline/common/require.h"
#include "pipeline/draft/layout/nested_places.h"
#include "pipeline/geometry/outline_gap.h"
#include "pipeline/geometry/regions.h"

namespace chalkfold::draft {
namespace {

constexpr double place_tolerance = 0.01;    // mm: places are written with two decimals
constexpr double overlap_tolerance = 0.01;  // mm2: rounding along a line of a metre that two pieces share
constexpr double turn_tolerance = 1e-6;     // rad: a micrometre on a metre
constexpr std::size_t searched_max = 40;    // pieces; the search's time grows with their square, some seconds here

/// The turn at which a piece fits the width and is shortest along the roll.
std::optional<double> shortest_turn(const RollPiece& piece, double width) {
  std::optional<double> best;
  double least = std::numeric_limits<double>::infinity();
  for (const double turn : piece.turns) {
    const Vec2 size = geometry::bounding_box(outline_on_roll(piece, {true, turn, Vec2::Zero()})).size();
    if (size.y() > width + place_tolerance || size.x() >= least - place_tolerance) continue;
    least = size.x();
    best = turn;
  }
  return best;
}

/// Lays pieces in rows across the roll, from `start` on, the longest first.
class Rows {
 public:
  Rows(const std::vector<RollPiece>& pieces, const RollOptions& options, double start)
      : pieces_(pieces), options_(options), row_(start) {}

  void add(std::size_t i, double turn, RollLayout& layout) {
    const geometry::Box box = geometry::bounding_box(outline_on_roll(pieces_[i], {true, turn, Vec2::Zero()}));
    if (across_ > 0 && across_ + box.size().y() > options_.width) {
      row_ += along_ + options_.gap;
      across_ = along_ = 0;
    }
    layout.places[i] = {true, turn, Vec2(row_, across_) - box.min};
    across_ += box.size().y() + options_.gap;
    along_ = std::max(along_, box.size().x());
  }

 private:
  const std::vector<RollPiece>& pieces_;
  const RollOptions& options_;
  double row_, across_ = 0, along_ = 0;
};

double end_of(const std::vector<RollPiece>& pieces, const RollLayout& layout) {
  double end = 0;
  for (std::size_t i = 0; i < pieces.size(); ++i)
    if (layout.places[i].placed)
      end = std::max(end, geometry::bounding_box(outline_on_roll(pieces[i], layout.places[i])).max.x());
  return end;
}

/// Lays what is not yet laid behind the others, the longest along the roll first.
void lay_the_rest(const std::vector<RollPiece>& pieces, const RollOptions& options, RollLayout& layout) {
  const double end = end_of(pieces, layout);
  Rows rows(pieces, options, end > 0 ? end + options.gap : 0);
  struct Rest {
    std::size_t index;
    double turn, along;
  };
  std::vector<Rest> rest;
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    if (layout.places[i].placed) continue;
    if (const auto turn = shortest_turn(pieces[i], options.width))
      rest.push_back(
          {i, *turn, geometry::bounding_box(outline_on_roll(pieces[i], {true, *turn, Vec2::Zero()})).size().x()});
  }
  std::stable_sort(rest.begin(), rest.end(), [](const Rest& a, const Rest& b) { return a.along > b.along; });
  for (const Rest& r : rest) rows.add(r.index, r.turn, layout);
}

/// Fills in length and areas; the layout begins at the roll's beginning.
void measure(const std::vector<RollPiece>& pieces, const RollOptions& options, RollLayout& layout) {
  double start = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < pieces.size(); ++i)
    if (layout.places[i].placed)
      start = std::min(start, geometry::bounding_box(outline_on_roll(pieces[i], layout.places[i])).min.x());
  layout.piece_area = 0;
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    if (!layout.places[i].placed) continue;
    layout.places[i].shift.x() -= start;
    layout.piece_area += std::abs(geometry::signed_area(pieces[i].outline));
  }
  layout.length = end_of(pieces, layout);
  layout.roll_area = layout.length * options.width;
}

/// What one layout by the library does: which pieces come first, the largest by area or the longest along the roll, and whether
/// places are filled from the beginning of the roll or from its lower edge.
struct Trial {
  bool by_area = true;
  NestWeights weights;
};
constexpr Trial all_trials[] = {{false, {0.1, 0.3}}, {true, {0.1, 0.02}}, {true, {0.1, 0.3}}, {false, {0.3, 0.02}}};

std::vector<std::size_t> order_of(const std::vector<RollPiece>& pieces, bool by_area) {
  std::vector<double> size;
  size.reserve(pieces.size());
  for (const RollPiece& piece : pieces)
    size.push_back(
        by_area ? std::abs(geometry::signed_area(piece.outline))
                : geometry::bounding_box(outline_on_roll(piece, {true, piece.turns.front(), {0, 0}})).size().x());
  std::vector<std::size_t> order(pieces.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return size[a] > size[b]; });
  if (order.size() > searched_max) order.resize(searched_max);
  return order;
}

/// One of the library's layouts. Outlines grow by half the gap, and so does the roll to either side.
RollLayout nested(const std::vector<RollPiece>& pieces, const std::vector<NestItem>& items, const RollOptions& options,
                  const Trial& trial) {
  RollLayout layout;
  layout.places.resize(pieces.size());
  const auto places = nested_places(items, order_of(pieces, trial.by_area), options.width + options.gap, trial.weights);
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    if (!places[i]) continue;
    double nearest = pieces[i].turns.front();  // the library's angle is rounded; ours is exact
    for (const double turn : pieces[i].turns)
      if (std::abs(std::remainder(turn - places[i]->angle, 2 * M_PI)) <
          std::abs(std::remainder(nearest - places[i]->angle, 2 * M_PI)))
        nearest = turn;
    layout.places[i] = {true, nearest, places[i]->shift - Vec2(0, 0.5 * options.gap)};
  }
  lay_the_rest(pieces, options, layout);
  return layout;
}

/// Fewer for many pieces, so that a layout takes seconds.
int trials_for(std::size_t pieces, const RollOptions& options) {
  if (pieces < 2) return 0;
  return std::min(options.trials, pieces <= 16 ? 4 : pieces <= 32 ? 2 : 1);
}

}  // namespace

void check(const RollOptions& o) {
  check_option("usable width of the roll, mm,", o.width, 100, 5000);
  check_option("gap between pieces, mm,", o.gap, 0, 50);
  check_option("slack of the layout's outlines, mm,", o.slack, 0.01, 5);
  check_option("trials of the layout", o.trials, 1, 4);
}

Polyline outline_on_roll(const RollPiece& piece, const RollPlace& place) {
  const geometry::Rigid2 roll_from_piece = place.roll_from_piece();
  Polyline out;
  out.reserve(piece.outline.size());
  for (const Vec2& p : piece.outline) out.push_back(roll_from_piece * p);
  return out;
}

std::vector<std::string> layout_faults(const std::vector<RollPiece>& pieces, const RollLayout& layout,
                                       const RollOptions& options) {
  require_equal("places of the layout", layout.places.size(), pieces.size());
  std::vector<std::string> faults;
  std::vector<Polyline> laid(pieces.size());
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    const RollPlace& place = layout.places[i];
    if (!place.placed) continue;
    const bool allowed = std::any_of(pieces[i].turns.begin(), pieces[i].turns.end(), [&](double turn) {
      return std::abs(std::remainder(turn - place.turn, 2 * M_PI)) <= turn_tolerance;
    });
    if (!allowed) faults.push_back(fmt::format("piece {} lies at an angle that it may not have", i + 1));
    laid[i] = outline_on_roll(pieces[i], place);
    const geometry::Box box = geometry::bounding_box(laid[i]);
    if (box.min.minCoeff() < -place_tolerance || box.max.y() > options.width + place_tolerance ||
        box.max.x() > layout.length + place_tolerance)
      faults.push_back(fmt::format("piece {} lies beside the roll", i + 1));
  }
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    for (std::size_t k = i + 1; k < pieces.size(); ++k) {
      if (laid[i].empty() || laid[k].empty()) continue;
      const double shared = geometry::overlap_area(laid[i], laid[k]);
      if (shared > overlap_tolerance)
        faults.push_back(fmt::format("pieces {} and {} overlap by {:.2f} mm2", i + 1, k + 1, shared));
      else if (const double gap = geometry::gap_between(laid[i], laid[k]); gap < options.gap - place_tolerance)
        faults.push_back(fmt::format("pieces {} and {} are {:.2f} mm apart", i + 1, k + 1, gap));
    }
  }
  return faults;
}

RollLayout roll_layout(const std::vector<RollPiece>& pieces, const RollOptions& options) {
  check(options);
  for (const RollPiece& piece : pieces) {
    require_at_least("points of a piece's outline", piece.outline.size(), 3);
    require_at_least("turns of a piece", piece.turns.size(), 1);
  }
  RollLayout best;
  best.places.resize(pieces.size());
  lay_the_rest(pieces, options, best);
  measure(pieces, options, best);
  std::vector<NestItem> items;
  items.reserve(pieces.size());
  for (const RollPiece& piece : pieces)
    items.push_back({geometry::grown_outline(piece.outline, 0.5 * options.gap, options.slack), piece.turns});
  for (int trial = 0; trial < trials_for(pieces.size(), options); ++trial) {
    RollLayout layout = nested(pieces, items, options, all_trials[trial]);
    measure(pieces, options, layout);
    if (layout.length < best.length - place_tolerance && layout_faults(pieces, layout, options).empty())
      best = std::move(layout);
  }
  return best;
}

}  // namespace chalkfold::draft
