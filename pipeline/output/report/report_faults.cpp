// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/report/report_faults.h"

#include <fmt/format.h>

#include <algorithm>

#include "pipeline/output/drawing/escape.h"
#include "pipeline/output/words/summary.h"

namespace chalkfold::output {

namespace {
std::string fault_html(const Fault& fault) {
  std::string out = fmt::format("<div class=\"fault {}\"><b>{}</b> {}: {}", to_string(fault.severity),
                                fault.severity == Severity::refusal ? "refused" : to_string(fault.severity),
                                markup_text(subject_text(fault)), markup_text(fault.seen));
  if (!fault.remedy.empty()) out += fmt::format("<br><b>What to do:</b> {}", markup_text(fault.remedy));
  return out + "</div>\n";
}
}  // namespace

std::string faults_html(Faults faults) {
  std::stable_sort(faults.begin(), faults.end(),
                   [](const Fault& a, const Fault& b) { return a.severity > b.severity; });
  std::string out;
  for (const Fault& fault : faults) out += fault_html(fault);
  return out;
}

}  // namespace chalkfold::output
