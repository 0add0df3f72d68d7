// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <cmath>
#include <numbers>
#include <optional>

#include "pipeline/geometry/polygon.h"
#include "pipeline/survey/survey_draft.h"

namespace chalkfold::survey {
namespace {

// Two photos share a setup when their common sheets lie alike to this much: above what either photo alone gets wrong, below any real move.
constexpr double same_place = 2.0;         // mm
constexpr double same_turn = 0.01;         // rad
constexpr double same_place_rate = 0.004;  // of the distance between two sheets

struct CommonSheet {
  BundleBoard in_a, in_b;
};

std::vector<CommonSheet> common_sheets(const Draft& draft, std::size_t a, std::size_t b) {
  std::vector<CommonSheet> common;
  for (const auto& [number, board] : draft.board_of_sheet[a]) {
    const auto other = draft.board_of_sheet[b].find(number);
    if (other != draft.board_of_sheet[b].end())
      common.push_back({draft.bundle.boards[static_cast<std::size_t>(board)],
                        draft.bundle.boards[static_cast<std::size_t>(other->second)]});
  }
  return common;
}

bool lie_alike(const std::vector<CommonSheet>& common) {
  for (std::size_t i = 1; i < common.size(); ++i) {
    const auto place = [](const BundleBoard& from, const BundleBoard& to) {
      return geometry::Rigid2{-from.theta, Vec2::Zero()} * (to.centre - from.centre);
    };
    const Vec2 da = place(common[0].in_a, common[i].in_a), db = place(common[0].in_b, common[i].in_b);
    const double turn =
        std::remainder((common[i].in_a.theta - common[0].in_a.theta) - (common[i].in_b.theta - common[0].in_b.theta),
                       2 * std::numbers::pi);
    if ((da - db).norm() > same_place + same_place_rate * da.norm() || std::abs(turn) > same_turn) return false;
  }
  return true;
}

/// From b's table to a's, by the centres and directions of their common sheets.
geometry::Rigid2 motion_between(const std::vector<CommonSheet>& common) {
  constexpr double arm = 100;  // mm from a sheet's centre, about where its outer corners lie
  Polyline from, to;
  for (const CommonSheet& sheet : common) {
    for (const Vec2& end : {Vec2(arm, 0), Vec2(-arm, 0)}) {
      to.push_back(geometry::Rigid2{sheet.in_a.theta, sheet.in_a.centre} * end);
      from.push_back(geometry::Rigid2{sheet.in_b.theta, sheet.in_b.centre} * end);
    }
  }
  return geometry::fit_rigid(from, to);
}

void share_board(Draft& draft, std::size_t photo, int before, int shared) {
  for (BundleObservation& o : draft.bundle.observations)
    if (o.photo == static_cast<int>(photo) && o.board == before) o.board = shared;
}

/// Moves a whole setup onto another one; sheets that both have become one, those that only it has go over as they lie.
void move_setup(Draft& draft, int setup, int onto, const geometry::Rigid2& motion) {
  std::map<int, int> known;
  for (std::size_t p = 0; p < draft.bundle.photos.size(); ++p)
    if (draft.bundle.photos[p].setup == onto)
      for (const auto& [number, board] : draft.board_of_sheet[p]) known.emplace(number, board);
  for (BundleBoard& board : draft.bundle.boards) {
    if (board.setup != setup) continue;
    board.centre = motion * board.centre;
    board.theta += motion.angle;
    board.setup = onto;
    board.fixed = false;
  }
  Mat3 r = Mat3::Identity();
  r.topLeftCorner<2, 2>() << std::cos(motion.angle), -std::sin(motion.angle), std::sin(motion.angle),
      std::cos(motion.angle);
  for (std::size_t p = 0; p < draft.bundle.photos.size(); ++p) {
    BundlePhoto& photo = draft.bundle.photos[p];
    if (photo.setup != setup) continue;
    for (auto& [number, board] : draft.board_of_sheet[p]) {
      const auto [shared, fresh] = known.emplace(number, board);
      if (shared->second != board) share_board(draft, p, board, shared->second);
      board = shared->second;
    }
    photo.pose.translation -= photo.pose.rotation * r.transpose() * Vec3(motion.shift.x(), motion.shift.y(), 0);
    photo.pose.rotation = photo.pose.rotation * r.transpose();
    photo.setup = onto;
  }
}

}  // namespace

bool join_setups(Draft& draft, const std::set<std::size_t>& alone, std::span<const PhotoSaid> said) {
  const auto name = [&](std::size_t photo) {
    return said.empty() ? std::string() : said[draft.sighting_of_photo[photo]].setup;
  };
  const auto name_of_setup = [&](int setup) {
    for (std::size_t p = 0; p < draft.bundle.photos.size(); ++p)
      if (draft.bundle.photos[p].setup == setup && !name(p).empty()) return name(p);
    return std::string();
  };
  bool joined = false;
  for (std::size_t b = 1; b < draft.bundle.photos.size(); ++b) {
    for (std::size_t a = 0; a < b; ++a) {
      if (alone.contains(draft.sighting_of_photo[a]) || alone.contains(draft.sighting_of_photo[b])) continue;
      const int onto = draft.bundle.photos[a].setup, setup = draft.bundle.photos[b].setup;
      if (onto == setup) continue;
      const std::vector<CommonSheet> common = common_sheets(draft, a, b);
      const std::string name_a = name_of_setup(onto), name_b = name_of_setup(setup);
      if (!name_a.empty() && !name_b.empty() && name_a != name_b) continue;
      // One common sheet lies alike whatever was moved: it is enough only where somebody says that nothing was.
      const bool vouched_for = !name(a).empty() && name(a) == name(b);
      if (common.size() < (vouched_for ? 1 : 2) || !lie_alike(common)) continue;
      move_setup(draft, setup, onto, motion_between(common));
      joined = true;
    }
  }
  return joined;
}

Faults setup_faults(const Draft& draft, std::span<const capture::Sighting> sightings,
                    const std::set<std::size_t>& alone, std::span<const PhotoSaid> said) {
  Faults faults;
  std::map<std::string, std::size_t> first_of;
  for (std::size_t p = 0; p < draft.bundle.photos.size() && !said.empty(); ++p) {
    const std::size_t sighting = draft.sighting_of_photo[p];
    const std::string& name = said[sighting].setup;
    if (name.empty() || alone.contains(sighting)) continue;
    const auto [first, fresh] = first_of.emplace(name, p);
    if (fresh || draft.bundle.photos[p].setup == draft.bundle.photos[first->second].setup) continue;
    const std::string& other = sightings[draft.sighting_of_photo[first->second]].photo;
    const std::string why = common_sheets(draft, first->second, p).empty()
                                ? "they show no sheet in common, and no other photo links them"
                                : "their sheets do not lie alike in both";
    faults.push_back(
        {"setup-not-joined", Severity::warning,
         fmt::format("the job says that it is of setup \"{}\", as {} is; but {}", name, other, why),
         "Was a sheet moved between the two? Then name another setup for those after it. Otherwise take one "
         "more photo that shows sheets of both, and name it with the same setup.",
         sightings[sighting].photo, ""});
  }
  return faults;
}

}  // namespace chalkfold::survey
