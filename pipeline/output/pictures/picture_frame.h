// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>

#include "pipeline/panel/panel.h"

namespace chalkfold::output {

/// How a panel's picture is laid out and written.
struct PictureOptions {
  double mm_per_px = 0.5;
  /// mm of table around the panel, more where whiskers are long
  double margin = 20;
  /// mm; a narrower picture is widened so that its labels fit
  double min_width = 300;
  /// the map from picture to photo is computed at this pitch and filled in bilinearly
  int grid_px = 8;
  /// mm along the outline
  double whisker_every = 20;
  /// a whisker is this many times as long as U at its foot
  double whisker_gain = 20;
  /// 0..100
  int jpeg_quality = 88;
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const PictureOptions& options);

/// Photo px of a table point (mm) on the panel's upper face.
using PhotoFromTable = std::function<Vec2(const Vec2& at_in_table)>;

/// Where a picture's pixels lie on the table. Up in the table is up in the picture; it is never mirrored.
struct PictureFrame {
  /// table mm of the picture's upper left corner (the corner, not a pixel's centre)
  double left = 0, top = 0;
  double mm_per_px = 0.5;
  int width_px = 0, height_px = 0;

  /// Picture coordinates: px, x right, y down, (0, 0) = the upper left corner, so that pixel (i, j) is centred on (i +
  /// 0.5, j + 0.5).
  Vec2 picture_from_table(const Vec2& at_in_table) const;
  Vec2 table_from_picture(const Vec2& at_in_picture) const;
};

/// The panel with its margin. Throws UsageError as check() does. Precondition: an outline of three points or more.
PictureFrame frame_around(const panel::Panel& panel, const PictureOptions& options);

}  // namespace chalkfold::output
