// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/capture/sighting.h"

namespace chalkfold::capture {

/// A board that carries our markers in another arrangement. `agreeing` is the share of marker corners that lie as our layout says.
Fault other_layout_fault(int sheet_number, int markers, double agreeing);

/// Faults of one sheet as it was seen: cut by the frame, corners dropped.
void add_sheet_faults(const SheetSighting& sheet, const SightingOptions& options, Faults& faults);

/// Faults of the photo as a whole: no sheet, one sheet, blur, exposure, resolution. Appends to sighting.faults.
void add_photo_faults(Sighting& sighting, const SightingOptions& options);

}  // namespace chalkfold::capture
