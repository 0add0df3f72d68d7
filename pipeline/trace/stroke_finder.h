// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>
#include <vector>

#include "pipeline/capture/photo.h"
#include "pipeline/trace/mark.h"
#include "pipeline/trace/panel_picture.h"

namespace chalkfold {

/// A line drawn on a panel with chalk or pen.
struct Stroke {
  Polyline points;        ///< table mm, along its middle
  double length = 0;      ///< mm
  double width = 0;       ///< mm, of the drawn line, blur taken off
  cv::Vec3f departure;    ///< its colour less that of the material on both sides, in PanelPicture::departure's channels
  double contrast = 0;    ///< norm of `departure`: in the material's own standard deviations
  double steadiness = 0;  ///< share of its length that departs the same way by at least a third as much
  double significance = 0;  ///< contrast over the spread of the same measurement at displaced places of the panel
  int repeats = 0;          ///< displaced copies, farther off than marks drawn together lie, that depart nearly as much
  Srgb colour{};
};

struct StrokeOptions {
  double scale = 1.1;                        ///< mm, standard deviation of the smoothing: strokes of 1 to 5 mm answer
  double along = 3.0;                        ///< mm, standard deviation of the averaging along the stroke
  double scale_coarse = 2.2;                 ///< mm, the same for wide chalk and chalk broken by ribs
  double along_coarse = 4.8;                 ///< mm
  double gap = 4.0;                          ///< mm, a break in the chalk that is bridged
  double least_length = 6;                   ///< mm
  double least_width = 0.5, most_width = 7;  ///< mm
  double least_contrast = 1.2;               ///< standard deviations of the material
  double least_step =
      3.0;  ///< of 255, over the three channels together: a camera's noise, over a stroke's area, is far below
  double coded_light = 0,
         coded_colour = 10;  ///< of 255: what a coder may make up beside a strong edge, of light and of colour alone
  double least_significance = 6;  ///< of the strokes that teach an ink, and where one is known
  double least_significance_strong =
      3.2;  ///< of strokes as strong as a known ink: along ribs, displaced copies show much of the rib
  double least_significance_faint = 10;  ///< of strokes much fainter than the ink
  double least_significance_alone = 11;  ///< where it is not
  double least_of_ink = 0.18;            ///< contrast, of that of the strokes which taught the ink
  /// Tells of a stroke that lies as marks do; may be empty. Once the panel's chalk is known, less significance will do for it.
  std::function<bool(const Stroke&)> expected;
  double share_expected = 0.75;  ///< of the significance asked for
  double least_steadiness = 0.55;
  int most_repeats = 2;  ///< a stroke seen again more often is part of the material's pattern
};

/// Options for a picture out of such a file.
StrokeOptions stroke_options(const CodingSteps& coding);

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

}  // namespace chalkfold
