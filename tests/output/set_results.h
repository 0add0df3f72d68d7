// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/output/json/results.h"
#include "tests/output/flag_panel.h"
#include "tests/output/flag_piece.h"

namespace chalkfold::test {

/// A seam of two edges, each named as PIECE/EDGE, that meets.
inline draft::SeamReport seam_report(int number, const std::string& a, const std::string& b, double length) {
  draft::SeamReport seam;
  seam.asked.number = number;
  seam.asked.a = draft::read_seam_side(a);
  seam.asked.b = draft::read_seam_side(b);
  seam.a.length = length;
  seam.b.length = length - 0.4;
  seam.difference = 0.4;
  seam.tolerance = 2;
  seam.verdict = draft::SeamVerdict::meets;
  return seam;
}

/// Results of three pieces, two materials and three seams: a flag with one mirrored, a side of "<soft> & \"thin\"" leather, a strip.
inline output::Results set_results() {
  output::Results results = sample_results();
  draft::Piece flag = flag_piece("flag"), side = flag_piece("left <side>"), strip = flag_piece("edge strip");
  flag.part = "centre";
  side.part = strip.part = "";
  side.material = "<soft> & \"thin\"";
  side.quantity = 1;
  side.one_mirrored = false;
  strip.grain.reset();
  int number = 0;
  for (draft::Piece* piece : {&flag, &side, &strip}) {
    piece->number = ++number;
    for (draft::PieceEdge& edge : piece->edges) edge.allowance = 10;
    results.pieces.push_back({*piece, {"pieces/x.svg"}, {}});
  }
  std::map<std::string, draft::MaterialOptions> options;
  options["vinyl"].kind = draft::MaterialKind::woven;
  options[side.material].kind = draft::MaterialKind::leather;
  for (draft::MaterialNeed& need : draft::material_needs({flag, side, strip}, options))
    results.materials.push_back({std::move(need), "layout/one.svg", {}});
  output::SewingRecord sewing;
  sewing.seams = {seam_report(1, "edge strip/1", "flag/2", 300), seam_report(2, "flag/1", "left <side>/3", 220),
                  seam_report(3, "flag/4", "flag/5", 130)};
  sewing.seams[0].asked.fit_on_seat = true;
  sewing.seams[1].asked.ease = 3;
  sewing.seams[1].asked.note = "slowly <here>";
  draft::SeamInterval interval;
  interval.a = 100;
  interval.b = 99.8;
  interval.tolerance = 2;
  sewing.seams[1].intervals = {interval, interval};
  sewing.seams[2].verdict = draft::SeamVerdict::does_not_meet;
  sewing.seams[2].difference = 7.5;
  sewing.sheet = draft::sewing_sheet(sewing.seams, {flag, side, strip});
  sewing.file = "sewing.pdf";
  results.sewing = sewing;
  return results;
}

}  // namespace chalkfold::test
