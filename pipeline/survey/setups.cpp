// SPDX-License-Identifier: Apache-2.0
#include <cmath>
#include <numbers>

#include "pipeline/geometry/polygon.h"
#include "pipeline/survey/survey_draft.h"

namespace chalkfold {
namespace {

// Two photos share a setup when their common sheets lie alike to this much: above what either photo alone gets wrong, below any real move.
constexpr double same_place = 2.0;         // mm
constexpr double same_turn = 0.01;         // rad
constexpr double same_place_rate = 0.004;  // of the distance between two sheets

bool same_setup(const Draft& draft, std::size_t a, std::size_t b) {
  std::vector<std::pair<BundleBoard, BundleBoard>> common;
  for (const auto& [number, board] : draft.board_of_sheet[a]) {
    const auto other = draft.board_of_sheet[b].find(number);
    if (other != draft.board_of_sheet[b].end())
      common.emplace_back(draft.bundle.boards[static_cast<std::size_t>(board)],
                          draft.bundle.boards[static_cast<std::size_t>(other->second)]);
  }
  if (common.size() < 2) return false;
  for (std::size_t i = 1; i < common.size(); ++i) {
    const auto place = [](const BundleBoard& from, const BundleBoard& to) {
      return Rigid2{-from.theta, Vec2::Zero()} * (to.centre - from.centre);
    };
    const Vec2 da = place(common[0].first, common[i].first), db = place(common[0].second, common[i].second);
    const double turn = std::remainder(
        (common[i].first.theta - common[0].first.theta) - (common[i].second.theta - common[0].second.theta),
        2 * std::numbers::pi);
    if ((da - db).norm() > same_place + same_place_rate * da.norm() || std::abs(turn) > same_turn) return false;
  }
  return true;
}

}  // namespace

bool join_setups(Draft& draft, const std::set<std::size_t>& alone) {
  bool joined = false;
  for (std::size_t b = 1; b < draft.bundle.photos.size(); ++b) {
    for (std::size_t a = 0; a < b; ++a) {
      BundlePhoto &pa = draft.bundle.photos[a], &pb = draft.bundle.photos[b];
      if (alone.contains(draft.sighting_of_photo[a]) || alone.contains(draft.sighting_of_photo[b])) continue;
      if (pa.setup == pb.setup || !same_setup(draft, a, b)) continue;
      // Move b's world onto a's by their common sheets, then share those; sheets that only b saw go over as they lie.
      Polyline from, to;
      for (const auto& [number, board] : draft.board_of_sheet[b]) {
        const auto other = draft.board_of_sheet[a].find(number);
        if (other == draft.board_of_sheet[a].end()) continue;
        from.push_back(draft.bundle.boards[static_cast<std::size_t>(board)].centre);
        to.push_back(draft.bundle.boards[static_cast<std::size_t>(other->second)].centre);
      }
      const Rigid2 a_from_b = fit_rigid(from, to);
      std::map<int, int> known;
      for (std::size_t c = 0; c < draft.bundle.photos.size(); ++c) {
        if (draft.bundle.photos[c].setup != pa.setup) continue;
        for (const auto& [number, board] : draft.board_of_sheet[c]) known.emplace(number, board);
      }
      for (auto& [number, board] : draft.board_of_sheet[b]) {
        BundleBoard& own = draft.bundle.boards[static_cast<std::size_t>(board)];
        own.centre = a_from_b * own.centre;
        own.theta += a_from_b.angle;
        own.setup = pa.setup;
        own.fixed = false;
        const int before = board;
        if (const auto k = known.find(number); k != known.end()) board = k->second;
        for (BundleObservation& o : draft.bundle.observations) {
          if (o.photo == static_cast<int>(b) && o.board == before) o.board = board;
        }
      }
      Mat3 r = Mat3::Identity();
      r.topLeftCorner<2, 2>() << std::cos(a_from_b.angle), -std::sin(a_from_b.angle), std::sin(a_from_b.angle),
          std::cos(a_from_b.angle);
      pb.pose.translation -= pb.pose.rotation * r.transpose() * Vec3(a_from_b.shift.x(), a_from_b.shift.y(), 0);
      pb.pose.rotation = pb.pose.rotation * r.transpose();
      pb.setup = pa.setup;
      joined = true;
      break;
    }
  }
  return joined;
}

}  // namespace chalkfold
