// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "pipeline/draft/change/dimensional_change.h"

namespace chalkfold::output {

/// The comparison in words and a table, for standard output: direction, change along and across with U and what that means for a cut,
/// shear, edges, distances between marks, faults.
std::string compare_text(const draft::DimensionalChange& change);

/// A table of the changes for an HTML page: what the run's report shows beside a panel.
std::string change_table_html(const draft::DimensionalChange& change);

/// A page of its own with the picture `svg` (its place relative to the page, or empty). `when`: the footer's time.
std::string compare_html(const draft::DimensionalChange& change, const std::string& svg, const std::string& when);

/// Picture of the two outlines, true scale in mm, y up as ever: the reference as laid in grey, the measured one in black, the grain as an
/// arrow, and from the reference, about every 15 mm, how far the measured outline lies off, scaled up; scale and figures stand below. Empty
/// when only numbers were compared.
std::string compare_svg(const draft::DimensionalChange& change);

}  // namespace chalkfold::output
