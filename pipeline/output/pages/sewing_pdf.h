// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "pipeline/output/json/results.h"
#include "pipeline/output/pages/pdf_layout.h"

namespace chalkfold::output {

/// The sewing sheet on paper (Letter when `pages` says so, A4 otherwise): what holds for all, the cautions, then seam by seam with a
/// box to tick. A seam is never broken between two pages but when it fills more than one. Precondition: results.sewing.
std::string sewing_pdf(const Results& results, const PdfPages& pages = {});

}  // namespace chalkfold::output
