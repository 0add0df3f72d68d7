// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/draft/piece/piece.h"

namespace chalkfold::draft {

/// A match mark or notch on an outline, before it is carried anywhere.
struct OutlineMark {
  PieceMark::Kind kind = PieceMark::Kind::match;
  panel::NotchShape shape = panel::NotchShape::vee;
  Vec2 foot = Vec2::Zero();
  /// mm, as measured
  double depth = 0;
  int group = 0;
  MarkOrigin origin = MarkOrigin::measured;
  /// of a mark that only one half has: it was drawn on the left one
  bool on_left = false;
};

}  // namespace chalkfold::draft
