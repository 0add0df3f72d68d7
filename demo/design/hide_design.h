// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "demo/design/panel_design.h"

namespace chalkfold::demo {

/// A side of leather of about 1.2 m by 0.86 m with a hole in it and three flaws ringed with chalk; like no side of its own, nor its mirror image.
PanelDesign hide_design();

/// A remnant of about 0.5 m by 0.38 m with rings of 40, 70 and 110 mm.
PanelDesign offcut_design();

/// The middle of a ring's stroke as a hand draws it, from its beginning to its end; panel frame.
Polyline ring_line(const RingAt& ring);

}  // namespace chalkfold::demo
