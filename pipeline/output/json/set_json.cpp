// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/json/set_json.h"

#include "pipeline/common/utf8.h"
#include "pipeline/output/json/json_values.h"

namespace chalkfold::output {
namespace {
using Json = nlohmann::ordered_json;

Json intervals_json(const draft::SeamReport& seam) {
  Json json = Json::array();
  for (const draft::SeamInterval& i : seam.intervals)
    json.push_back({{"mark_a", i.mark_a},
                    {"mark_b", i.mark_b},
                    {"a", rounded(i.a, 3)},
                    {"b", rounded(i.b, 3)},
                    {"wanted", rounded(i.wanted, 3)},
                    {"difference", rounded(i.difference(), 3)},
                    {"meets", i.meets()}});
  return json;
}

/// What changes by adjustment.
Json state_json(const draft::SeamReport& seam) {
  return {{"length_a", rounded(seam.a.length, 3)},     {"length_b", rounded(seam.b.length, 3)},
          {"difference", rounded(seam.difference, 3)}, {"verdict", draft::to_string(seam.verdict)},
          {"marks_meet", seam.marks_meet()},           {"intervals", intervals_json(seam)}};
}

Json group_json(const std::optional<draft::SewingGroup>& group) {
  constexpr const char* names[] = {"centre", "sides", "sides to centre", "closing", "edge strip"};
  return group ? Json(names[static_cast<int>(*group)]) : Json();
}

Json moves_json(const draft::PieceMoves& moves, const PieceRecord* record) {
  Json json = {{"piece", plain_text(moves.piece)},
               {"fixed", moves.fixed},
               {"rms", rounded(moves.rms, 3)},
               {"largest", rounded(moves.largest, 3)}};
  json["edges"] = Json::array();
  for (std::size_t e = 0; record && e < moves.edge_before.size(); ++e)
    json["edges"].push_back({{"number", record->piece.edges[e].number},
                             {"before", rounded(moves.edge_before[e], 3)},
                             {"after", rounded(moves.edge_after[e], 3)}});
  json["files"] = record ? record->files : std::vector<std::string>{};
  json["picture"] = record && !record->change_picture.empty() ? Json(record->change_picture) : Json();
  return json;
}

const PieceRecord* adjusted_piece(const SetRecord& set, const std::string& name) {
  for (const PieceRecord& record : set.adjusted)
    if (record.piece.name == name) return &record;
  return nullptr;
}

}  // namespace

Json seam_json(const draft::SeamReport& seam, const draft::SeamReport* after) {
  constexpr const char* run_by[] = {"job", "marks", "sides"};
  Json json = {{"number", seam.asked.number},
               {"a", plain_text(draft::to_text(seam.asked.a))},
               {"b", plain_text(draft::to_text(seam.asked.b))},
               {"ease", rounded(seam.asked.ease, 3)},
               {"runs", seam.asked.run == draft::SeamRun::with ? "with" : "against"},
               {"runs_by", run_by[static_cast<int>(seam.run_by)]},
               {"group", group_json(seam.asked.group)},
               {"order", seam.asked.order ? Json(*seam.asked.order) : Json()},
               {"fit_on_seat", seam.asked.fit_on_seat},
               {"note", plain_text(seam.asked.note)},
               {"U_a", rounded(seam.a.U, 3)},
               {"U_b", rounded(seam.b.U, 3)},
               {"U_difference", rounded(seam.U_difference, 3)},
               {"tolerance", rounded(seam.tolerance, 3)}};
  if (seam.proposed) json["confidence"] = rounded(seam.confidence, 3);
  json["unpaired_marks_a"] = seam.unpaired_marks_a;
  json["unpaired_marks_b"] = seam.unpaired_marks_b;
  json.update(state_json(seam));
  if (!seam.proposed) json["after"] = after ? state_json(*after) : Json();
  return json;
}

void add_set(Json& results, const SetRecord& set) {
  const draft::SetReport& report = set.report;
  results["seams"] = Json::array();
  for (std::size_t i = 0; i < report.seams.size(); ++i)
    results["seams"].push_back(seam_json(report.seams[i], report.adjusted ? &report.after[i] : nullptr));
  results["seam_proposals"] = Json::array();
  for (const draft::SeamReport& seam : report.proposals) results["seam_proposals"].push_back(seam_json(seam, nullptr));
  results["unpaired_edges"] = Json::array();
  for (const draft::UnpairedEdge& edge : report.unpaired)
    results["unpaired_edges"].push_back(
        {{"piece", plain_text(edge.piece)}, {"edge", edge.edge}, {"length", rounded(edge.length, 3)}});
  Json adjustment = {{"done", report.adjusted},
                     {"reason", plain_text(report.reason)},
                     {"wear_percent", rounded(100 * set.wear, 4)},
                     {"move_limit", rounded(set.move_limit, 3)}};
  adjustment["pieces"] = Json::array();
  for (const draft::PieceMoves& moves : report.moves)
    adjustment["pieces"].push_back(moves_json(moves, adjusted_piece(set, moves.piece)));
  adjustment["set_files"] = set.set_files;
  results["adjustment"] = adjustment;
}

}  // namespace chalkfold::output
