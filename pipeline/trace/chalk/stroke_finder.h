// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>
#include <vector>

#include "pipeline/capture/photo.h"
#include "pipeline/panel/mark.h"
#include "pipeline/trace/chalk/panel_picture.h"
#include "pipeline/trace/chalk/stroke.h"
#include "pipeline/trace/chalk/stroke_options.h"

namespace chalkfold::trace {

/// 0..1, from how far a stroke stands out from displaced copies of itself and how steadily.
double confidence_of(const Stroke& stroke);

/// True when one of the strokes set in `used` has this one's colour, and is not much stronger.
bool shares_an_ink(const Stroke& stroke, const std::vector<Stroke>& all, const std::vector<bool>& used);

/// Every stroke on the panel, and nothing else that is a line: each test rejects something of its own.
///
/// Colour ridges (ridge_field.h) strong enough to be chalk for certain teach the colours of the chalks used (inks); in each ink's
/// direction of colour, long ridges at two scales find the rest of the strokes, faint ones too. Where what teaches may be but a thread, it does not
/// tell how strong the chalk is; plain white and dark are looked for as well, and what is beyond doubt among the strokes found teaches once more.
/// Then, a stroke at a time:
/// - both sides: the sides must look alike against the stroke, and like the material. Rejects shadow edges and the borders of wide stripes (a
///   step, not a line), and the bare material between two strokes.
/// - ink: where strokes beyond doubt were found, the others must have their colour, and not be much fainter. Rejects creases and shading.
/// - steadiness: rejects chance alignments of grain and thread.
/// - significance: the same line laid at other places of the panel, in the same direction, must show far less; or
///   the lines beside those places, all alike, must. Rejects grain, weave and rib, whatever their strength, since they are everywhere.
/// - repeats: strong copies at a distance mean stripes, checks or ribs.
/// What is a long line without being a mark (a crease, a decorative seam) is told by the marks' own rules: no mark is made of it.
std::vector<Stroke> find_strokes(const PanelPicture& picture, const StrokeOptions& options = {});

}  // namespace chalkfold::trace
