// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <string>

namespace chalkfold::calib {

enum class Paper {
  /// 210 x 297 mm
  a4,
  /// 8.5 x 11 in, 215.9 x 279.4 mm
  letter,
};

struct SheetPagesOptions {
  Paper paper = Paper::a4;
  /// sheets 1..sheets, 1..20
  int sheets = 4;
  /// tags 1..tags, 0..99; 0 leaves the tag pages out
  int tags = 24;
};

/// The printable file: a page that shows in pictures what to do, one page a sheet, then the tags on cards to cut apart,
/// 12 a page. Vector PDF at true size, black on white; portrait; everything but the paper's outermost 5 mm is used. It
/// asks the viewer not to scale the page. Byte-equal for equal options. Throws UsageError when a number is out of its
/// range.
std::string sheet_pages_pdf(const SheetPagesOptions& options);

/// Writes sheet_pages_pdf to `out` so that there is never half a file (see write_file_atomically). Throws UsageError,
/// FileError.
void write_sheet_pages(const std::filesystem::path& out, const SheetPagesOptions& options);

}  // namespace chalkfold::calib
