// SPDX-License-Identifier: Apache-2.0
#include "calib/actual_size.h"

#include <gtest/gtest.h>

#include <stdexcept>

#include "calib/page_canvas.h"

namespace chalkfold::calib {
namespace {

std::string empty_page() {
  PageCanvas canvas(100, 50, "page");
  canvas.end_page();
  return canvas.finish();
}

TEST(ActualSize, AddsTheWishBehindAnUntouchedFile) {
  const std::string before = empty_page(), after = ask_for_actual_size(before);
  ASSERT_GT(after.size(), before.size());
  EXPECT_EQ(after.substr(0, before.size()), before);
  EXPECT_NE(after.find("/PrintScaling /None", before.size()), std::string::npos);
  EXPECT_NE(after.find("/Pages", before.size()), std::string::npos) << "the new catalogue keeps the pages";
}

TEST(ActualSize, TheNewTableSaysWhereTheNewCatalogueIs) {
  const std::string before = empty_page(), after = ask_for_actual_size(before);
  const std::size_t table = std::stoul(after.substr(after.rfind("startxref") + 9));
  ASSERT_EQ(after.substr(table, 5), "xref\n");
  const std::size_t root = std::stoul(after.substr(table + 5));
  const std::size_t entry = after.find('\n', table + 5) + 1;
  ASSERT_EQ(after.substr(entry + 10, 10), " 00000 n \n") << "a table entry is 20 bytes";
  const std::size_t catalogue = std::stoul(after.substr(entry, 10));
  EXPECT_EQ(after.substr(catalogue, 6 + std::to_string(root).size()), std::to_string(root) + " 0 obj");
  const std::size_t previous = std::stoul(after.substr(after.rfind("/Prev") + 5));
  EXPECT_EQ(after.substr(previous, 5), "xref\n");
  EXPECT_LT(previous, before.size());
}

TEST(ActualSize, RefusesWhatIsNoSuchFile) {
  EXPECT_THROW(ask_for_actual_size(""), std::logic_error);
  EXPECT_THROW(ask_for_actual_size("trailer startxref nothing"), std::logic_error);
  EXPECT_THROW(ask_for_actual_size("trailer << /Root 1 0 R >> startxref 5"), std::logic_error) << "no catalogue";
}

}  // namespace
}  // namespace chalkfold::calib
