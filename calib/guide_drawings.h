// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "calib/page_canvas.h"

namespace chalkfold::calib {

// The little drawings that the guide page is put together from. Places are in the canvas's open frame, mm, y down.

/// A sheet seen from above, `height` high, about its middle, turned by `angle` rad (clockwise).
void draw_small_sheet(PageCanvas& canvas, const Vec2& middle, double angle, double height);

/// A panel with its chalk, inside up, about 36 x 30 mm at scale 1, about its middle.
void draw_small_panel(PageCanvas& canvas, const Vec2& middle, double scale);

/// A tag card, `side` wide, about its middle, with this number.
void draw_small_tag(PageCanvas& canvas, const Vec2& middle, double side, int number);

/// A phone held flat, seen from the side, its lens looking along +y at angle 0, with the edges of what it sees dashed.
void draw_phone_from_side(PageCanvas& canvas, const Vec2& lens, double angle, double sees_half_width,
                          double sees_depth);

/// a tick, 7 mm wide
void draw_yes(PageCanvas& canvas, const Vec2& middle);
/// a cross, 6 mm wide
void draw_no(PageCanvas& canvas, const Vec2& middle);

/// A line with an arrow head at both ends.
void draw_span(PageCanvas& canvas, const Vec2& from, const Vec2& to);

}  // namespace chalkfold::calib
