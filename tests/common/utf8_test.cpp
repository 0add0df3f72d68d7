// SPDX-License-Identifier: Apache-2.0
#include "pipeline/common/utf8.h"

#include <gtest/gtest.h>

namespace chalkfold {

TEST(Utf8, ComesBackAsItWent) {
  const std::u32string points = {0x1, 0x7F, 0x80, 0x7FF, 0x800, 0xD7FF, 0xE000, 0xFFFD, 0xFFFF, 0x10000, 0x10FFFF};
  EXPECT_EQ(code_points(utf8_from(points)), points);
}

TEST(Utf8, KnownBytes) {
  EXPECT_EQ(utf8_from(U"\u00FC"), "\xC3\xBC");
  EXPECT_EQ(utf8_from(U"\u5EA7"), "\xE5\xBA\xA7");
  EXPECT_EQ(utf8_from(U"\U0001FA91"), "\xF0\x9F\xAA\x91");
}

TEST(Utf8, WhatIsNotValidIsReplacedByteByByte) {
  const char32_t bad = 0xFFFD;
  EXPECT_EQ(code_points("\xFF"), std::u32string(1, bad));
  EXPECT_EQ(code_points("a\xC3"), (std::u32string{U'a', bad})) << "cut short";
  EXPECT_EQ(code_points("\xC0\xAF"), std::u32string(2, bad)) << "an overlong slash must not become one";
  EXPECT_EQ(code_points("\xED\xA0\x80"), std::u32string(3, bad)) << "a surrogate";
  EXPECT_EQ(code_points("\xF4\x90\x80\x80"), std::u32string(4, bad)) << "beyond the last code point";
  EXPECT_EQ(utf8_from(std::u32string(1, 0x110000)), "\xEF\xBF\xBD");
}

TEST(PlainText, CannotSteerATerminal) {
  EXPECT_EQ(plain_text("a\x1B[31mb\nc\td\x7F"), "a [31mb c d ");
  EXPECT_EQ(plain_text("\xC2\x9B"), " ") << "C1 controls are controls too";
  EXPECT_EQ(plain_text("a\xE2\x80\xAEgpj"), "agpj") << "right-to-left override";
  EXPECT_EQ(plain_text("R\xC3\xBC"
                       "cken"),
            "R\xC3\xBC"
            "cken");
}

}  // namespace chalkfold
