// SPDX-License-Identifier: Apache-2.0
#include "pipeline/common/fault.h"

#include <algorithm>

namespace chalkfold {

std::string to_string(Severity severity) {
  switch (severity) {
    case Severity::note:
      return "note";
    case Severity::warning:
      return "warning";
    case Severity::refusal:
      return "refusal";
  }
  return "warning";
}

bool has_refusal(const Faults& faults) {
  return std::any_of(faults.begin(), faults.end(), [](const Fault& f) { return f.severity == Severity::refusal; });
}

}  // namespace chalkfold
