// SPDX-License-Identifier: Apache-2.0
#include "tests/outside/board_photos.h"

#include <stdexcept>

namespace chalkfold {

Calibration calibrate(const std::vector<BoardPhoto>& photos, const cv::Size& size, double rough_focal_px) {
  Calibration done;
  survey::Bundle& bundle = done.bundle;
  const Vec2 middle(0.5 * (size.width - 1), 0.5 * (size.height - 1));
  bundle.lenses.emplace_back();
  bundle.lenses[0].value = {rough_focal_px, 1, 0, middle.x(), middle.y(), 0, 0, 0, 0, 0};
  bundle.breathing_sigma = bundle.stabiliser_sigma_px = bundle.robust_sigmas = 0;
  for (const BoardPhoto& photo : photos) {
    const int index = static_cast<int>(bundle.photos.size());
    Polyline ideal;
    for (const Vec2& p : photo.in_photo) ideal.push_back((p - middle) / rough_focal_px);
    bundle.photos.push_back({0, index, survey::pose_from_plane(photo.on_board, ideal)});
    bundle.boards.push_back({index, 1, Vec2::Zero(), 0, true});
    for (std::size_t i = 0; i < photo.on_board.size(); ++i) {
      bundle.observations.push_back({index, index, photo.on_board[i], photo.in_photo[i], 1.0});
    }
  }
  survey::BundleResult result = survey::solve_bundle(bundle, survey::BundleStage::poses);
  if (result.ok) result = survey::solve_bundle(bundle, survey::BundleStage::all);
  if (!result.ok) throw std::runtime_error("calibrate: " + result.why);
  done.rms_px = result.rms_px;
  return done;
}

}  // namespace chalkfold
