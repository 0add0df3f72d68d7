// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <opencv2/core.hpp>

#include "calib/pages.h"
#include "calib/sheet_layout.h"
#include "tests/calib/printed.h"

namespace chalkfold::calib {
namespace {

constexpr int reading_dpi = 150;
constexpr double one_pixel_mm = 25.4 / reading_dpi;

TEST(TagPages, EveryTagIsThereOnceUprightAnd40MmWide) {
  if (!can_print()) GTEST_SKIP() << "pdftoppm is not installed (package poppler-utils)";
  for (const Paper paper : {Paper::a4, Paper::letter}) {
    const SheetPagesOptions options{paper, 1, sheet::tags_max};
    const int page_count = (sheet::tags_max + tags_per_page - 1) / tags_per_page;
    int next = 1;
    for (const PrintedPage& page : print(options, 3, 2 + page_count, reading_dpi)) {
      for (const auto& [id, corners] : markers_on(page)) {
        EXPECT_EQ(sheet::tag_of_marker(id), next++) << "tags run on, page by page";
        const cv::Point2f across = corners[1] - corners[0], down = corners[3] - corners[0];
        // OpenCV gives corners on pixel centres just inside the black, half a pixel short at both ends.
        EXPECT_NEAR(across.x / page.px_per_mm(), sheet::tag_side, 1.5 * one_pixel_mm) << "tag id " << id;
        EXPECT_NEAR(down.y / page.px_per_mm(), sheet::tag_side, 1.5 * one_pixel_mm) << "tag id " << id;
        EXPECT_NEAR(across.y, 0, 1.5) << "upright, px";
      }
    }
    EXPECT_EQ(next, sheet::tags_max + 1);
  }
}

TEST(TagPages, SayTheirNumbers) {
  if (!can_print()) GTEST_SKIP() << "pdftotext is not installed (package poppler-utils)";
  const std::string words = words_on_page({Paper::a4, 1, 14}, 4);
  EXPECT_THAT(words, testing::HasSubstr("13"));
  EXPECT_THAT(words, testing::HasSubstr("14"));
  EXPECT_THAT(words, testing::Not(testing::HasSubstr("15")));
}

TEST(AllPages, PrintNothingWherePrintersLeaveWhite) {
  if (!can_print()) GTEST_SKIP() << "pdftoppm is not installed (package poppler-utils)";
  for (const Paper paper : {Paper::a4, Paper::letter}) {
    std::vector<PrintedPage> pages = print({paper, 1, 13}, 1, 4, reading_dpi);
    for (std::size_t i = 0; i < pages.size(); ++i) {
      cv::Mat& grey = pages[i].grey;
      double darkest = 0;
      cv::minMaxLoc(grey, &darkest);
      EXPECT_LT(darkest, 50) << "page " << i + 1 << " is empty";
      const int margin = static_cast<int>(unprintable_margin * pages[i].px_per_mm()) - 1;
      grey(cv::Rect(margin, margin, grey.cols - 2 * margin, grey.rows - 2 * margin)) = 255;
      cv::minMaxLoc(grey, &darkest);
      EXPECT_EQ(darkest, 255) << "page " << i + 1;
    }
  }
}

}  // namespace
}  // namespace chalkfold::calib
