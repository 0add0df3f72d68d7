// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "pipeline/geometry/point.h"

namespace chalkfold::output {

/// The parts that the pictures of outlines share (compare_svg, change_svg, layout_svg). Not for files to cut from: those are drawn by
/// svg.h and piece_svg.h, layer by layer.

/// From a drawing's frame (mm, y up) to a picture's: mm, y down, origin at its upper left.
struct SvgFrame {
  /// of the picture, in the drawing's frame
  Vec2 left_top = Vec2::Zero();
  Vec2 operator()(const Vec2& p) const;
};

/// What a path element's d says.
std::string svg_path(const Polyline& points, const SvgFrame& picture, bool closed);

/// A path element: a line without fill. `more`: further attributes, each after a blank.
std::string svg_line(const std::string& path, const char* colour, double width, const std::string& more = "");

/// A text element, dark, `at` in the picture's frame; `anchor`: start, middle or end.
std::string svg_words(const std::string& text, const Vec2& at, double height, const char* anchor = "start");

/// All before the first line: the picture's size in mm at true scale, and its title.
std::string svg_head(double width, double height, const std::string& title);

inline constexpr const char* svg_dark = "#1c1c1c";

}  // namespace chalkfold::output
