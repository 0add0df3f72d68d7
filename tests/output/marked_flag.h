// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/output/drawing/drawing.h"
#include "pipeline/output/json/results.h"
#include "tests/output/flag_panel.h"

namespace chalkfold::test {

/// The flag with one mark of every kind, at places that a mirror image would move.
inline output::PanelRecord marked_flag() {
  output::PanelRecord record;
  record.panel = flag_panel();
  const Vec2 o = output::panel_origin(record.panel);
  panel::Marks& m = record.panel.marks;
  m.matches.push_back({.along = 12,
                       .foot = o + Vec2(12, 0),
                       .tip = o + Vec2(13, 18),
                       .width = 2,
                       .group = 0,
                       .at_corner = true,
                       .sigma = 0.2,
                       .confidence = 0.9,
                       .colour = {230, 231, 232},
                       .number = panel::MarkCrop{o + Vec2(16, 4), o + Vec2(24, 15)}});
  m.centre = panel::CentreLine{.from = o + Vec2(100, 5),
                               .to = o + Vec2(101, 110),
                               .straightness = 0.2,
                               .sigma = 0.1,
                               .sigma_angle = 0.002,
                               .confidence = 0.8,
                               .colour = {1, 2, 3}};
  m.grain = panel::GrainLine{.tail = o + Vec2(40, 30),
                             .head = o + Vec2(60, 80),
                             .directed = true,
                             .sigma = 0.1,
                             .sigma_angle = 0.003,
                             .confidence = 0.7,
                             .colour = {4, 5, 6}};
  m.writings.push_back({.box = {o + Vec2(120, 60), o + Vec2(140, 60), o + Vec2(140, 90), o + Vec2(120, 90)},
                        .underside = true,
                        .up = 1.5,
                        .confidence = 0.9,
                        .colour = {}});
  m.notches.push_back({.shape = panel::NotchShape::slit,
                       .along = 50,
                       .foot = o + Vec2(50, 0),
                       .tip = o + Vec2(50, 5),
                       .depth = 5,
                       .width = 0,
                       .first = 1,
                       .last = 3,
                       .sigma = 0.1,
                       .confidence = 0.6});
  m.holes.push_back({.centre = o + Vec2(70, 20), .diameter = 3, .sigma = 0.05, .confidence = 1});
  m.needle_rows.push_back({.points = {o + Vec2(20, 10), o + Vec2(24, 10.1), o + Vec2(28, 10)},
                           .pitch = 4,
                           .found_share = 1,
                           .allowance = 10,
                           .allowance_spread = 0.2,
                           .sigma = 0.05,
                           .confidence = 0.9});
  record.crops = {{output::CropRecord::Of::number, 0, "pictures/marks/flag match mark 1.jpg"},
                  {output::CropRecord::Of::writing, 0, "pictures/marks/flag writing 1.jpg"}};
  return record;
}

}  // namespace chalkfold::test
