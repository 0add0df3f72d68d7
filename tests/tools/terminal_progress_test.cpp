// SPDX-License-Identifier: Apache-2.0
#include "tools/terminal_progress.h"

#include <gtest/gtest.h>

#include <memory>

#include "tests/common/run_program.h"

namespace chalkfold::tools {

namespace {
std::string shown(bool on_terminal, const std::string& item) {
  const test::TemporaryFolder folder;
  const std::string file = (folder / "shown").string();
  {
    const std::unique_ptr<std::FILE, int (*)(std::FILE*)> stream(std::fopen(file.c_str(), "w"), std::fclose);
    TerminalProgress progress(stream.get(), on_terminal);
    progress.begin("reading photos", 2);
    progress.advance(item);
    progress.advance("b.jpg");
    progress.end();
  }
  return test::read_whole(file);
}
}  // namespace

TEST(TerminalProgress, PlainLinesWithoutATerminal) {
  EXPECT_EQ(shown(false, "a.jpg"), "reading photos 1/2: a.jpg\nreading photos 2/2: b.jpg\n");
}

TEST(TerminalProgress, FileNamesCannotSteerTheTerminal) {
  EXPECT_EQ(shown(false, "a\x1B\n.jpg").find('\x1B'), std::string::npos);
}

TEST(TerminalProgress, ABarThatFillsUpOnATerminal) {
  const std::string bar = shown(true, "a.jpg");
  EXPECT_NE(bar.find("[..............................] 0/2"), std::string::npos);
  EXPECT_NE(bar.find("[###############...............] 1/2"), std::string::npos);
  EXPECT_TRUE(bar.ends_with("[##############################] 2/2 b.jpg\x1B[K\n")) << bar;
  EXPECT_NE(bar.find("\rreading photos"), std::string::npos);
}

}  // namespace chalkfold::tools
