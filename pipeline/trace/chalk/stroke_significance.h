// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/trace/chalk/panel_picture.h"
#include "pipeline/trace/chalk/stroke.h"

namespace chalkfold::trace {

/// Sets `significance`: how far a stroke stands out from what displaced copies of it show. The grain's own lines, nearly all of what is judged, are
/// given up after the first copies: `least` is what is asked for.
void set_significance(Stroke& stroke, const PanelPicture& picture, double least);

/// Sets `repeats`: strong copies beside the stroke, farther off than marks drawn together lie.
void set_repeats(Stroke& stroke, const PanelPicture& picture);

}  // namespace chalkfold::trace
