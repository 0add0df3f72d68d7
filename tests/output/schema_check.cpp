// SPDX-License-Identifier: Apache-2.0
#include "tests/output/schema_check.h"

#include <fmt/format.h>

#include <valijson/adapters/nlohmann_json_adapter.hpp>
#include <valijson/schema.hpp>
#include <valijson/schema_parser.hpp>
#include <valijson/validator.hpp>

#include "tests/common/run_program.h"

namespace chalkfold::test {

std::string complaints(const std::string& schema_file, const nlohmann::json& document) {
  const char* const room = schema_file == "job.schema.json" ? "job/plan" : "output/json";
  const auto schema_json =
      nlohmann::json::parse(read_whole(fmt::format("{}/pipeline/{}/{}", CHALKFOLD_SOURCE_DIR, room, schema_file)));
  valijson::Schema schema;
  valijson::SchemaParser parser;
  parser.populateSchema(valijson::adapters::NlohmannJsonAdapter(schema_json), schema);
  valijson::Validator validator;
  valijson::ValidationResults results;
  if (validator.validate(schema, valijson::adapters::NlohmannJsonAdapter(document), &results)) return "";
  std::string lines;
  valijson::ValidationResults::Error error;
  while (results.popError(error)) {
    for (const std::string& part : error.context) lines += part;
    lines += fmt::format(": {}\n", error.description);
  }
  return lines;
}

}  // namespace chalkfold::test
