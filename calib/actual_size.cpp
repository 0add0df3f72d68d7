// SPDX-License-Identifier: Apache-2.0
#include "calib/actual_size.h"

#include <fmt/format.h>

#include <stdexcept>

namespace chalkfold::calib {

namespace {
/// The place just behind the last `key` in the file.
std::size_t behind_last(const std::string& pdf, const std::string& key) {
  const std::size_t at = pdf.rfind(key);
  if (at == std::string::npos) throw std::logic_error("PDF without " + key);
  return at + key.size();
}

unsigned long number_at(const std::string& pdf, std::size_t at) {
  try {
    return std::stoul(pdf.substr(at, 24));
  } catch (const std::exception&) {
    throw std::logic_error(fmt::format("PDF has no number at byte {}", at));
  }
}

/// The words between the << and >> that follow `at`; Cairo's trailer and catalogue hold no inner << >>.
std::string dictionary_at(const std::string& pdf, std::size_t at) {
  const std::size_t open = pdf.find("<<", at), close = pdf.find(">>", at);
  if (open == std::string::npos || close == std::string::npos || open > close) {
    throw std::logic_error(fmt::format("PDF has no dictionary at byte {}", at));
  }
  return pdf.substr(open + 2, close - open - 2);
}
}  // namespace

std::string ask_for_actual_size(std::string pdf) {
  const unsigned long old_table = number_at(pdf, behind_last(pdf, "startxref"));
  const std::string trailer = dictionary_at(pdf, behind_last(pdf, "trailer"));
  const unsigned long root = number_at(trailer, behind_last(trailer, "/Root"));
  const std::string catalogue = dictionary_at(pdf, behind_last(pdf, fmt::format("\n{} 0 obj", root)));
  const std::size_t new_root = pdf.size();
  // PrintScaling came with version 1.6, which the catalogue may raise the file to.
  pdf += fmt::format("{} 0 obj\n<<{}   /Version /1.6\n   /ViewerPreferences << /PrintScaling /None >>\n>>\nendobj\n",
                     root, catalogue);
  const std::size_t new_table = pdf.size();
  pdf += fmt::format("xref\n{} 1\n{:010} 00000 n \n", root, new_root);
  pdf += fmt::format("trailer\n<<{}   /Prev {}\n>>\nstartxref\n{}\n%%EOF\n", trailer, old_table, new_table);
  return pdf;
}

}  // namespace chalkfold::calib
