// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/draft/piece/piece.h"

namespace chalkfold::draft {

/// Marks of one group were drawn together. Numbers of either half of an outline stand for themselves, and so do those of its image.
struct MarkGroup {
  int number = 0;
  /// numbered on the left half, which alone has the mark
  bool on_left = false;
  /// of the half's mirror image
  bool in_image = false;
  bool operator==(const MarkGroup&) const = default;
};

/// A match mark or notch on an outline, before it is carried anywhere.
struct OutlineMark {
  PieceMark::Kind kind = PieceMark::Kind::match;
  panel::NotchShape shape = panel::NotchShape::vee;
  Vec2 foot = Vec2::Zero();
  /// mm, as measured
  double depth = 0;
  MarkGroup group;
  MarkOrigin origin = MarkOrigin::measured;
};

}  // namespace chalkfold::draft
