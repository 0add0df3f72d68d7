// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/panel/panel.h"

namespace chalkfold::draft {

/// The old sew line as a contour: the needle rows where they were found (of two side by side the inner one is a top-stitch and not
/// heeded), elsewhere the outline moved in by the rows' median allowance. Points that come nearer to the outline than their own
/// allowance are left out, so that corners stay sharp. Precondition: at least one row, each with a point; a
/// counter-clockwise outline of at least 8 points with sigma and U.
panel::Contour sew_contour(const panel::Contour& outline, const std::vector<panel::NeedleRow>& rows);

}  // namespace chalkfold::draft
