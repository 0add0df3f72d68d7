// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/drawing/escape.h"

#include <gtest/gtest.h>

namespace chalkfold::output {

TEST(MarkupText, NoCharacterOfMarkupSurvives) {
  EXPECT_EQ(markup_text("<b a=\"x\" b='y'> & \x1B\n"), "&lt;b a=&quot;x&quot; b=&#39;y&#39;&gt; &amp;   ");
  EXPECT_EQ(markup_text("\xFF"), "\xEF\xBF\xBD");
}

TEST(MarkupLink, OnlyPathCharactersSurvive) {
  EXPECT_EQ(markup_link("pictures/seat top #1?.jpg"), "pictures/seat%20top%20%231%3F.jpg");
  EXPECT_EQ(markup_link("a\"b:\xC3\xBC"), "a%22b%3A%C3%BC");
}

TEST(DxfText, IsShortPrintableAscii) {
  EXPECT_EQ(dxf_text("\xE5\xBA\xA7 \xF0\x9F\xAA\x91"), "\\U+5EA7 ?");
  std::string many;
  for (int i = 0; i < 100; ++i) many += "\xC3\xBC";
  const std::string text = dxf_text(many);
  EXPECT_LE(text.size(), dxf_text_max);
  EXPECT_EQ(text.size() % 7, 0u) << "an escape must not be cut in two";
}

}  // namespace chalkfold::output
