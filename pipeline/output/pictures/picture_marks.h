// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/output/pictures/picture_canvas.h"
#include "pipeline/output/pictures/picture_frame.h"
#include "pipeline/panel/mark.h"

namespace chalkfold::output {

bool has_marks(const panel::Marks& marks);

/// Draws a panel's marks on its rectified picture, each kind in a line style of its own that can be told in grey:
/// match mark      thick line from the outline inward, with its number along the outline
/// centre line     long dash, dot
/// grain line      thin line with an open head
/// writing         short dashes around it; the underside letter has a bar at its top
/// notch           small triangle on the cut
/// drill hole      circle with a cross
/// needle row      dots
void draw_marks(PictureCanvas& canvas, const PictureFrame& frame, const panel::Marks& marks, double scale);

/// One line that shows the style of each kind there is, with its name and count. `at` is the baseline's left end.
void draw_marks_legend(PictureCanvas& canvas, const Vec2& at, const panel::Marks& marks, double scale, double room);

}  // namespace chalkfold::output
