// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/json/sewing_json.h"

#include "pipeline/common/utf8.h"
#include "pipeline/output/json/json_values.h"

namespace chalkfold::output {
namespace {
using Json = nlohmann::ordered_json;

const char* group_key(draft::SewingGroup group) {
  switch (group) {
    case draft::SewingGroup::centre:
      return "centre";
    case draft::SewingGroup::sides:
      return "sides";
    case draft::SewingGroup::sides_to_centre:
      return "sides to centre";
    case draft::SewingGroup::closing:
      return "closing";
    case draft::SewingGroup::edge_strip:
      break;
  }
  return "edge strip";
}

Json thread_json(const draft::ThreadNeed& need) {
  return {
      {"needle", rounded(need.needle, 1)}, {"bobbin", rounded(need.bobbin, 1)}, {"total", rounded(need.total(), 1)}};
}

Json numbers(const std::vector<double>& values) {
  Json json = Json::array();
  for (const double value : values) json.push_back(rounded(value, 3));
  return json;
}

Json step_json(const draft::SewingStep& step, const draft::SeamReport& seam) {
  constexpr const char* by[] = {"job", "roles", "nothing"};
  constexpr const char* fit[] = {"no", "job", "customary"};
  Json json = {{"seam", seam.asked.number},
               {"a", plain_text(draft::to_text(seam.asked.a))},
               {"b", plain_text(draft::to_text(seam.asked.b))}};
  json["group"] = step.group ? Json(group_key(*step.group)) : Json();
  json["group_by"] = by[static_cast<int>(step.group_by)];
  json["ordered_by_job"] = step.ordered_by_job;
  json["length"] = rounded(step.length, 3);
  json["thickness"] = rounded(step.thickness, 3);
  json["allowances_a"] = numbers(step.allowances_a);
  json["allowances_b"] = numbers(step.allowances_b);
  json["thread"] = thread_json(step.thread);
  json["fit_on_seat"] = fit[static_cast<int>(step.fit)];
  return json;
}

}  // namespace

Json sewing_json(const Results& results) {
  if (!results.sewing) return {};
  const draft::SewingSheet& sheet = results.sewing->sheet;
  constexpr const char* by[] = {"job", "words", "nothing"};
  Json json;
  json["stitch"] = {{"length", sheet.stitch.stitch}, {"waste", sheet.stitch.waste}};
  json["roles"] = Json::array();
  for (std::size_t i = 0; i < sheet.roles.size(); ++i)
    json["roles"].push_back({{"piece", plain_text(results.pieces.at(i).piece.name)},
                             {"role", sheet.roles[i].role ? Json(draft::to_string(*sheet.roles[i].role)) : Json()},
                             {"by", by[static_cast<int>(sheet.roles[i].by)]}});
  json["steps"] = Json::array();
  for (const draft::SewingStep& step : sheet.steps)
    json["steps"].push_back(step_json(step, results.sewing->seams.at(step.seam)));
  json["seam_length"] = rounded(sheet.seam_length, 1);
  json["thread"] = thread_json(sheet.thread);
  json["file"] = results.sewing->file.empty() ? Json() : Json(results.sewing->file);
  json["faults"] = faults_json(sheet.faults);
  return json;
}

}  // namespace chalkfold::output
