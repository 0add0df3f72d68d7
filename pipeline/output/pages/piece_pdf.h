// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "pipeline/draft/piece/piece.h"
#include "pipeline/output/pages/pdf_layout.h"
#include "pipeline/output/words/cautions.h"

namespace chalkfold::output {

/// A piece at true size on paper, to be glued on card: the bytes of a PDF file, the same for the same piece, without a date.
/// A piece that fits one page, perhaps turned, is on one. A larger one is on pages that share `overlap` mm with their neighbours, with
/// crop marks and names (A1, A2, B1, ...), behind a page with a map of them; pages with nothing of the piece are left out, grey on the map.
/// Every page has a check bar of 100 mm, the piece's name, the side shown and the page's name; the first page has the key to the
/// lines and the cautions. Lines: cut line solid, sew line dashed, fold axis dash-dot, grain a thin arrow. Never mirrored but to show
/// the face.
/// Throws UsageError for options out of bounds (pdf_layout.h), std::logic_error for a cut line of fewer than three points.
std::string piece_pdf(const draft::Piece& piece, const PdfPages& pages = {});

}  // namespace chalkfold::output
