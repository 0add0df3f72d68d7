// SPDX-License-Identifier: Apache-2.0
// The sewing sheet as pdftotext reads it and pdftoppm draws it.
#include "pipeline/output/pages/sewing_pdf.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "tests/output/pages/printed_piece.h"
#include "tests/output/set_results.h"

namespace chalkfold::output {
namespace {
using testing::HasSubstr;

std::size_t count_of(const std::string& text, const std::string& part) {
  std::size_t count = 0;
  for (std::size_t at = text.find(part); at != std::string::npos; at = text.find(part, at + 1)) ++count;
  return count;
}

Results many_seams(int count) {
  Results results = test::set_results();
  std::vector<draft::Piece> pieces;
  for (const PieceRecord& record : results.pieces) pieces.push_back(record.piece);
  results.sewing->seams.clear();
  for (int i = 1; i <= count; ++i)
    results.sewing->seams.push_back(test::seam_report(i, "flag/1", "left <side>/3", 200 + i));
  results.sewing->sheet = draft::sewing_sheet(results.sewing->seams, pieces);
  return results;
}

TEST(SewingPdf, HasEverySeamOnceAndTheCautionsFirst) {
  const auto pages = test::printed_piece(sewing_pdf(many_seams(17)), 50);
  ASSERT_GT(pages.size(), 2u);
  EXPECT_THAT(pages[0].words, HasSubstr("Sewing sheet"));
  EXPECT_THAT(pages[0].words, HasSubstr("hog"));
  EXPECT_THAT(pages[0].words, HasSubstr("airbag may sit"));
  std::string all;
  for (std::size_t i = 0; i < pages.size(); ++i) {
    EXPECT_THAT(pages[i].words, HasSubstr(fmt::format("page {} of {}", i + 1, pages.size())));
    all += pages[i].words;
  }
  all = " " + all;
  std::replace(all.begin(), all.end(), '\n', ' ');
  for (int i = 1; i <= 17; ++i) {
    EXPECT_EQ(count_of(all, fmt::format(" {}. flag/1 to left", i)), 1u) << i;
    EXPECT_EQ(count_of(all, fmt::format("Length {}.0 mm on flag", 200 + i)), 1u) << i;
  }
}

TEST(SewingPdf, KeepsASeamTogether) {
  for (const auto& page : test::printed_piece(sewing_pdf(many_seams(17)), 50))
    EXPECT_EQ(count_of(page.words, "flag/1 to left"), count_of(page.words, "Thread 0."));
}

TEST(SewingPdf, LeavesItsMarginWhite) {
  for (const auto& page : test::printed_piece(sewing_pdf(many_seams(17)), 50)) {
    const double width = page.grey.cols / page.px_per_mm, height = page.grey.rows / page.px_per_mm;
    for (const double x : {5.0, 15.0, width - 15, width - 5})
      EXPECT_TRUE(page.strokes_across({x, 2}, {x, height - 2}).empty()) << x;
  }
}

TEST(SewingPdf, IsTheSameEachTime) { EXPECT_EQ(sewing_pdf(many_seams(5)), sewing_pdf(many_seams(5))); }

TEST(SewingPdf, ComesOnLetterToo) {
  PdfPages letter;
  letter.paper = PdfPaper::letter;
  EXPECT_THAT(test::page_sizes(sewing_pdf(many_seams(2), letter))[0], HasSubstr("612 x 792"));
  EXPECT_THAT(test::page_sizes(sewing_pdf(many_seams(2)))[0], HasSubstr("595"));
}

}  // namespace
}  // namespace chalkfold::output
