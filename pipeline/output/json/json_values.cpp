// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/json/json_values.h"

#include <cmath>

#include "pipeline/common/utf8.h"

namespace chalkfold::output {

nlohmann::ordered_json rounded(double value, int decimals) {
  if (!std::isfinite(value)) return {};
  const double scale = std::pow(10.0, decimals);
  const double result = std::round(value * scale) / scale;
  return result == 0 ? 0.0 : result;  // no minus before zero
}

nlohmann::ordered_json fault_json(const Fault& fault) {
  return {{"code", fault.code},
          {"severity", to_string(fault.severity)},
          {"seen", plain_text(fault.seen)},
          {"remedy", plain_text(fault.remedy)},
          {"photo", plain_text(fault.photo)},
          {"panel", plain_text(fault.panel)}};
}

nlohmann::ordered_json faults_json(const Faults& faults) {
  nlohmann::ordered_json json = nlohmann::ordered_json::array();
  for (const Fault& fault : faults) json.push_back(fault_json(fault));
  return json;
}

}  // namespace chalkfold::output
