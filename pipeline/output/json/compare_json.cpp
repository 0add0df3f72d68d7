// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/json/compare_json.h"

#include <cmath>
#include <numbers>

#include "pipeline/common/utf8.h"
#include "pipeline/common/version.h"
#include "pipeline/output/json/json_values.h"

namespace chalkfold::output {

namespace {
using Json = nlohmann::ordered_json;
constexpr double degree = std::numbers::pi / 180;

Json point(const Vec2& p) { return {rounded(p.x(), 4), rounded(p.y(), 4)}; }

Json points(const Polyline& line) {
  Json json = Json::array();
  for (const Vec2& p : line) json.push_back(point(p));
  return json;
}

Json percent_json(const draft::PercentChange& change) {
  return {{"percent", rounded(change.percent, 4)}, {"U", rounded(change.U, 4)}};
}

Json length_json(const draft::LengthChange& length) {
  return {{"before", rounded(length.before, 3)},
          {"after", rounded(length.after, 3)},
          {"percent", rounded(length.change.percent, 4)},
          {"U", rounded(length.change.U, 4)}};
}

Json edge_json(const draft::EdgeChange& edge) {
  Json json = {{"number", edge.number}};
  json.update(length_json(edge.length));
  json["grain_deg"] = rounded(edge.grain_deg, 2);
  json["from"] = point(edge.from);
  json["to"] = point(edge.to);
  return json;
}

Json distance_json(const draft::MarkDistance& distance) {
  Json json = {{"what", distance.what}};
  json.update(length_json(distance.length));
  json["grain_deg"] = rounded(distance.grain_deg, 2);
  json["from"] = point(distance.from);
  json["to"] = point(distance.to);
  return json;
}

Json residual_json(const draft::ResidualPoint& p) {
  return {{"along", rounded(p.along, 2)},
          {"point", point(p.point)},
          {"departure", rounded(p.departure, 4)},
          {"left", rounded(p.left, 4)},
          {"U", rounded(p.U, 4)}};
}
}  // namespace

Json change_figures_json(const draft::DimensionalChange& change) {
  Json json = {{"reference", {{"name", plain_text(change.reference)}, {"kind", change.reference_kind}}},
               {"measured", {{"name", plain_text(change.measured)}, {"kind", change.measured_kind}}},
               {"done", change.done},
               {"by_outline", change.by_outline},
               {"reference_mirrored", change.reference_mirrored}};
  const bool outline = change.done && change.by_outline;
  json["direction"] = change.done
                          ? Json{{"from", draft::to_string(change.direction_from)},
                                 {"deg", rounded(std::atan2(change.direction.y(), change.direction.x()) / degree, 3)}}
                          : Json();
  json["along"] = change.done ? percent_json(change.along) : Json();
  json["across"] = change.done ? percent_json(change.across) : Json();
  json["shear"] =
      outline ? Json{{"deg", rounded(change.shear_deg, 4)}, {"U_deg", rounded(change.shear_U_deg, 4)}} : Json();
  json["extent_along"] = change.done ? length_json(change.extent_along) : Json();
  json["extent_across"] = change.done ? length_json(change.extent_across) : Json();
  json["rigid_rms"] = outline ? rounded(change.rigid_rms, 4) : Json();
  json["left_rms"] = outline ? rounded(change.left_rms, 4) : Json();
  json["edges"] = Json::array();
  for (const draft::EdgeChange& edge : change.edges) json["edges"].push_back(edge_json(edge));
  json["distances"] = Json::array();
  for (const draft::MarkDistance& distance : change.distances) json["distances"].push_back(distance_json(distance));
  json["faults"] = faults_json(change.faults);
  return json;
}

std::string compare_json_text(const draft::DimensionalChange& change) {
  Json json = {{"schema", compare_schema}, {"program", "chalkfold"}, {"version", program_version()}, {"unit", "mm"}};
  json.update(change_figures_json(change));
  if (change.by_outline) {
    const Mat2& m = change.affine.linear;
    json["measured_from_reference"] = {
        {"rigid",
         {{"angle_deg", rounded(change.measured_from_reference.angle / degree, 5)},
          {"shift", point(change.measured_from_reference.shift)}}},
        {"affine",
         {{"linear", {rounded(m(0, 0), 8), rounded(m(0, 1), 8), rounded(m(1, 0), 8), rounded(m(1, 1), 8)}},
          {"shift", point(change.affine.shift)}}}};
  } else {
    json["measured_from_reference"] = Json();
  }
  json["residuals"] = Json::array();
  for (const draft::ResidualPoint& p : change.residuals) json["residuals"].push_back(residual_json(p));
  json["measured_outline"] = points(change.measured_outline);
  json["reference_outline"] = points(change.reference_outline);
  return json.dump(2) + "\n";
}

}  // namespace chalkfold::output
