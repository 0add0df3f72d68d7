// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/plan/panel_names.h"

#include <gtest/gtest.h>

namespace chalkfold::job {

TEST(SafeName, KeepsWhatCanBeKept) {
  EXPECT_EQ(safe_name("seat top"), "seat top");
  EXPECT_EQ(safe_name("R\xC3\xBC"
                      "cken 1.2"),
            "R\xC3\xBC"
            "cken 1.2");
}

TEST(SafeName, TakesOutWhatSystemsCannotHave) {
  EXPECT_EQ(safe_name("a/b\\c:d*e?f\"g<h>i|j"), "a-b-c-d-e-f-g-h-i-j");
  EXPECT_EQ(safe_name("../.hidden."), "-.hidden");
  EXPECT_EQ(safe_name("a\nb\x1B"), "a b");
  EXPECT_EQ(safe_name("..."), "panel");
  EXPECT_EQ(safe_name(""), "panel");
  EXPECT_EQ(safe_name("CON"), "_CON");
  EXPECT_EQ(safe_name("lpt3.left"), "_lpt3.left");
  EXPECT_EQ(safe_name("console"), "console");
}

TEST(SafeName, IsShortAndCutBetweenCharacters) {
  std::string many;
  for (int i = 0; i < 200; ++i) many += "\xE5\xBA\xA7";
  const std::string name = safe_name(many);
  EXPECT_LE(name.size(), safe_name_max);
  EXPECT_GT(name.size(), safe_name_max - 5);
  EXPECT_EQ(name.size() % 3, 0u);
}

TEST(PanelNames, ComeFromThePhotos) {
  const PanelNames names({"in/seat top.jpg", "in/back.JPG"});
  EXPECT_EQ(names.name(0, 0), "seat top");
  EXPECT_EQ(names.name(0, 1), "seat top-2");
  EXPECT_EQ(names.name(0, 2), "seat top-3");
  EXPECT_EQ(names.name(1, 0), "back");
}

TEST(PanelNames, NeverMeet) {
  const std::vector<std::filesystem::path> photos = {"a.jpg", "b/a.jpg", "a-2.jpg", "A.png", "a-3-2.jpg", "a-3.jpg"};
  const PanelNames names(photos);
  std::set<std::string> seen;
  for (std::size_t photo = 0; photo < photos.size(); ++photo) {
    for (std::size_t panel = 0; panel < 5; ++panel) {
      std::string name = names.name(photo, panel);
      for (char& c : name) c = static_cast<char>(std::tolower(c));
      EXPECT_TRUE(seen.insert(name).second) << name;
    }
  }
  EXPECT_EQ(names.name(0, 0), "a");
  EXPECT_EQ(names.name(2, 0), "a-2") << "a photo keeps its own name";
  EXPECT_EQ(names.name(5, 0), "a-3");
}

}  // namespace chalkfold::job
