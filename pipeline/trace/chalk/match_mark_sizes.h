// SPDX-License-Identifier: Apache-2.0
#pragma once

namespace chalkfold::trace {

/// mm, from the outline to the inner end: chalk on the allowance and as much again; what is longer is a line
inline constexpr double longest_match_mark = 60;
/// mm between the outline and the stroke: chalk skips where the edge gives way. Fitted, see match_marks.cpp
inline constexpr double match_mark_gap = 4.5;
/// mm that the stroke may seem to run out of the outline: half its width, and blur
inline constexpr double match_mark_overlap = 3;
/// mm either side of the foot, over which the outline's normal is read: past its noise, short of its bends
inline constexpr double match_mark_normal_arm = 6;

}  // namespace chalkfold::trace
