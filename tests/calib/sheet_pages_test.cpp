// SPDX-License-Identifier: Apache-2.0
#include "calib/sheet_pages.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <chrono>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <thread>

#include "pipeline/common/error.h"

namespace chalkfold::calib {
namespace {

std::string message_of_refusal(const SheetPagesOptions& options) {
  try {
    sheet_pages_pdf(options);
  } catch (const UsageError& error) {
    return error.what();
  }
  return "";
}

std::string read(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

/// "cairo 1.16.0", from the file's Producer entry.
std::string producer(const std::string& pdf) {
  const std::size_t at = pdf.find("(cairo ");
  return at == std::string::npos ? "" : pdf.substr(at, pdf.find(' ', at + 7) - at);
}

TEST(SheetPages, RefuseNumbersOutOfRange) {
  SheetPagesOptions options;
  for (const int sheets : {-3, 0, 21}) {
    options.sheets = sheets;
    EXPECT_EQ(message_of_refusal(options), "--sheets " + std::to_string(sheets) + ": must be a number from 1 to 20");
  }
  options = {};
  for (const int tags : {-1, 100}) {
    options.tags = tags;
    EXPECT_EQ(message_of_refusal(options), "--tags " + std::to_string(tags) + ": must be a number from 0 to 99");
  }
}

TEST(SheetPages, DoNotDependOnTheTime) {
  const std::string now = sheet_pages_pdf({});
  std::this_thread::sleep_for(std::chrono::milliseconds(2100));  // a PDF date is in whole seconds
  EXPECT_EQ(sheet_pages_pdf({}), now);
  EXPECT_EQ(now.find("CreationDate"), std::string::npos);
}

TEST(SheetPages, UseNoFontOfTheMachine) {
  const std::string pdf = sheet_pages_pdf({});
  EXPECT_NE(pdf.find("/Type3"), std::string::npos);
  for (const char* other : {"/TrueType", "/Type1", "/FontFile"}) EXPECT_EQ(pdf.find(other), std::string::npos) << other;
}

TEST(SheetPages, AskNotToBeScaled) { EXPECT_NE(sheet_pages_pdf({}).find("/PrintScaling /None"), std::string::npos); }

TEST(SheetPages, AreWrittenWholeOrNotAtAll) {
  const std::filesystem::path folder =
      std::filesystem::path(testing::TempDir()) / ("chalkfold_sheet_pages_" + std::to_string(::getpid()));
  std::filesystem::create_directories(folder);
  write_sheet_pages(folder / "sheets.pdf", {});
  EXPECT_TRUE(read(folder / "sheets.pdf") == sheet_pages_pdf({}));
  EXPECT_THROW(write_sheet_pages(folder / "sheets.pdf", {Paper::a4, 21, 0}), UsageError);
  EXPECT_THROW(write_sheet_pages(folder / "none" / "sheets.pdf", {}), FileError);
  EXPECT_THROW(write_sheet_pages(folder, {}), FileError);
  EXPECT_TRUE(read(folder / "sheets.pdf") == sheet_pages_pdf({})) << "the old file stays";
  const std::filesystem::directory_iterator files(folder);
  EXPECT_EQ(std::distance(begin(files), end(files)), 1) << "nothing else is left in the folder";
  std::filesystem::remove_all(folder);
}

TEST(SheetPages, TheReadyMadeFilesAreWhatTheProgramWrites) {
  constexpr std::size_t largest_bytes = 300'000;
  for (const auto& [name, paper] :
       {std::pair{"sheets-a4.pdf", Paper::a4}, std::pair{"sheets-letter.pdf", Paper::letter}}) {
    const std::string committed = read(std::filesystem::path(CHALKFOLD_SOURCE_DIR) / "calib" / name);
    ASSERT_FALSE(committed.empty()) << name;
    EXPECT_LT(committed.size(), largest_bytes);
    const std::string today = sheet_pages_pdf({paper, 6, 24});
    if (producer(committed) != producer(today)) {
      GTEST_SKIP() << name << " was drawn by " << producer(committed) << "), this machine has " << producer(today);
    }
    EXPECT_TRUE(committed == today) << name << " is out of date: build target ready_made_sheets";
  }
}

}  // namespace
}  // namespace chalkfold::calib
