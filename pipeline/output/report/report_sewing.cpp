// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/report/report_sewing.h"

#include <fmt/format.h>

#include "pipeline/output/drawing/escape.h"
#include "pipeline/output/report/report_faults.h"
#include "pipeline/output/words/cautions.h"
#include "pipeline/output/words/sewing_words.h"

namespace chalkfold::output {
namespace {

std::string caution_html(const std::string& words) {
  return fmt::format("<div class=\"fault warning\"><b>caution</b> {}</div>\n", markup_text(words));
}

std::string step_html(const StepWords& words) {
  std::string out = fmt::format("<article>\n<h3>{}</h3>\n<p>", markup_text(words.heading));
  for (std::size_t i = 0; i < words.facts.size(); ++i) {
    const bool strong = i == 0 && words.fit;
    out += fmt::format("{}{}{}{}", i == 0 ? "" : "<br>\n", strong ? "<b>" : "", markup_text(words.facts[i]),
                       strong ? "</b>" : "");
  }
  out += "</p>\n";
  for (const std::string& caution : words.cautions) out += caution_html(caution);
  return out + "</article>\n";
}

}  // namespace

std::string sewing_html(const Results& results) {
  if (!results.sewing || results.sewing->sheet.steps.empty()) return "";
  std::string out = "<h2>Sewing sheet</h2>\n";
  for (const std::string& words : sheet_words(results)) out += fmt::format("<p>{}</p>\n", markup_text(words));
  if (!results.sewing->file.empty())
    out += fmt::format("<p>On paper: <a href=\"{}\">{}</a></p>\n", markup_link(results.sewing->file),
                       markup_text(results.sewing->file));
  out += caution_html(workshop_caution());
  if (sews_by_airbag(results)) out += caution_html(airbag_caution());
  out += faults_html(results.sewing->sheet.faults);
  for (const StepWords& words : step_words(results)) out += step_html(words);
  return out;
}

}  // namespace chalkfold::output
