// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/json/read_fault.h"

namespace chalkfold::output {

Faults read_faults(const JsonPlace& place) {
  Faults faults;
  for (const JsonPlace& f : place.items()) {
    f.only({"code", "severity", "seen", "remedy", "photo", "panel"});
    const auto severity = f["severity"].one_of<Severity>(
        {{"note", Severity::note}, {"warning", Severity::warning}, {"refusal", Severity::refusal}});
    faults.push_back(
        {f["code"].text(), severity, f["seen"].text(), f["remedy"].text(), f["photo"].text(), f["panel"].text()});
  }
  return faults;
}

}  // namespace chalkfold::output
