// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/json/material_json.h"

#include <cmath>

#include "pipeline/common/utf8.h"
#include "pipeline/output/json/json_values.h"

namespace chalkfold::output {
namespace {
using Json = nlohmann::ordered_json;

Json piece_json(const draft::PieceArea& area, const Results& results) {
  return {{"piece", plain_text(results.pieces.at(area.piece).piece.name)},
          {"copies", area.copies},
          {"net_area", rounded(area.net, 1)},
          {"cut_area", rounded(area.cut, 1)}};
}

Json copy_json(const draft::LaidCopy& copy, const Results& results) {
  Json json = {{"piece", plain_text(results.pieces.at(copy.piece).piece.name)}, {"mirrored", copy.mirrored}};
  json["placed"] = copy.place.placed;
  json["turn_deg"] = copy.place.placed ? rounded(copy.place.turn * 180 / M_PI, 4) : Json();
  json["shift"] =
      copy.place.placed ? Json::array({rounded(copy.place.shift.x(), 3), rounded(copy.place.shift.y(), 3)}) : Json();
  return json;
}

Json need_json(const MaterialRecord& record, const Results& results) {
  const draft::MaterialNeed& need = record.need;
  const draft::MaterialOptions& o = need.options;
  Json json = {{"material", plain_text(need.material)}};
  json["options"] = {{"kind", o.kind ? Json(draft::to_string(*o.kind)) : Json()},
                     {"roll_width", rounded(o.roll_width, 1)},
                     {"usable_width", rounded(draft::usable_width(o), 1)},
                     {"either_way", o.either_way},
                     {"gap", rounded(o.gap, 3)},
                     {"hide_m2", rounded(o.hide_area / draft::mm2_per_m2, 4)},
                     {"usable_fraction", rounded(o.usable_fraction, 4)}};
  json["pieces"] = Json::array();
  for (const draft::PieceArea& area : need.pieces) json["pieces"].push_back(piece_json(area, results));
  json["net_area"] = rounded(need.net_area, 1);
  json["cut_area"] = rounded(need.cut_area, 1);
  json["roll"] = {{"length", rounded(need.roll_length, 1)},
                  {"area", rounded(need.roll_area, 1)},
                  {"share", rounded(need.roll_share, 4)},
                  {"copies", Json::array()}};
  for (const draft::LaidCopy& copy : need.copies) json["roll"]["copies"].push_back(copy_json(copy, results));
  json["hides"] = need.hides ? Json{{"m2", rounded(need.hides->area / draft::mm2_per_m2, 3)},
                                    {"ft2", rounded(need.hides->area / draft::mm2_per_ft2, 2)},
                                    {"count", need.hides->hides}}
                             : Json();
  if (!record.measured.empty()) {
    const MeasuredStock stock = measured_stock(record, results);
    json["measured"] = {{"panels", Json::array()},
                        {"usable_area", rounded(stock.usable, 1)},
                        {"usable_area_U", rounded(stock.usable_U, 1)},
                        {"needed_area", rounded(stock.needed, 1)},
                        {"enough_by_area", stock.usable >= stock.needed}};
    for (const std::size_t i : record.measured)
      json["measured"]["panels"].push_back(plain_text(results.panels.at(i).panel.name));
  }
  json["picture"] = record.picture.empty() ? Json() : Json(record.picture);
  json["faults"] = faults_json(need.faults);
  return json;
}

}  // namespace

Json material_json(const Results& results) {
  Json json = Json::array();
  for (const MaterialRecord& record : results.materials) json.push_back(need_json(record, results));
  return json;
}

}  // namespace chalkfold::output
