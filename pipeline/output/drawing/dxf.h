// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "pipeline/output/drawing/drawing.h"

namespace chalkfold::output {

/// DXF file of a drawing: ASCII, release 12 (AC1009), lines ended by CR LF, mm with 4 decimals, $INSUNITS 4 and
/// $MEASUREMENT 1 given although release 12 did not know them. Every line is a POLYLINE on its layer, every text a
/// TEXT. Frame as in Drawing: y up, as DXF has it.
std::string dxf_of(const Drawing& drawing);

/// The same of a panel as it lies.
std::string dxf_of(const panel::Panel& panel);

}  // namespace chalkfold::output
