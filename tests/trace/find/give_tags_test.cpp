// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/find/give_tags.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace chalkfold::trace {
namespace {

using testing::HasSubstr;

/// Two panels 200 x 200 mm seen from 1 m above, 100 mm apart: x from -250 to -50 and from 50 to 250.
class GiveTags : public testing::Test {
 protected:
  GiveTags() : view(from_above()) {
    left.outline.points = {{-250, -100}, {-50, -100}, {-50, 100}, {-250, 100}};
    right.outline.points = {{50, -100}, {250, -100}, {250, 100}, {50, 100}};
    sighting.photo = "seat.jpg";
  }
  static survey::TableView from_above() {
    survey::TableView::Solution s;
    s.width = 1200;
    s.height = 900;
    s.lens = calib::Lens{1200, 900, 1000, 600, 450, 0, 0, 0, 0, 0};
    s.pose.rotation = Vec3(1, -1, -1).asDiagonal();
    s.pose.translation = Vec3(0, 0, 1000);
    return survey::TableView(s);
  }
  /// A tag of 40 mm with its middle there.
  void lay(int number, const Vec2& at) {
    capture::TagSighting tag;
    tag.number = number;
    const std::array<Vec2, 4> corners = {Vec2(-20, 20), Vec2(20, 20), Vec2(20, -20), Vec2(-20, -20)};
    for (std::size_t i = 0; i < 4; ++i) tag.corners_in_photo[i] = view.photo_from_table(at + corners[i], 0);
    sighting.tags.push_back(tag);
  }
  std::vector<std::string> codes() {
    faults = give_tags({&left, &right}, sighting, view);
    std::vector<std::string> found;
    for (const Fault& f : faults) {
      found.push_back(f.code);
      EXPECT_EQ(f.photo, "seat.jpg");
      EXPECT_EQ(f.severity, Severity::warning);
      EXPECT_FALSE(f.remedy.empty());
    }
    return found;
  }

  survey::TableView view;
  panel::Panel left, right;
  capture::Sighting sighting;
  Faults faults;
};

TEST_F(GiveTags, OneOnThePanelAndOneBesideIt) {
  lay(3, {-150, 0});
  lay(8, {150, 140});
  EXPECT_THAT(codes(), testing::IsEmpty());
  EXPECT_EQ(left.tag, 3);
  EXPECT_EQ(right.tag, 8);
}

TEST_F(GiveTags, BetweenTwoItNamesNeither) {
  lay(5, {4, 20});
  EXPECT_THAT(codes(), testing::ElementsAre("tag-between-panels"));
  EXPECT_FALSE(left.tag || right.tag);
  EXPECT_THAT(faults[0].seen, HasSubstr("tag 5 at (604, 430) px lies 46 mm from one panel and 54 mm from another"));
}

TEST_F(GiveTags, BetweenTwoOfWhichOneHasItsOwnItNamesTheOther) {
  lay(5, {4, 20});
  lay(6, {260, 20});
  EXPECT_THAT(codes(), testing::IsEmpty());
  EXPECT_EQ(left.tag, 5);
  EXPECT_EQ(right.tag, 6);
}

TEST_F(GiveTags, PlainlyNearerToOneIsSettled) {
  lay(5, {-10, 20});  // 40 and 60 mm
  EXPECT_THAT(codes(), testing::IsEmpty());
  EXPECT_EQ(left.tag, 5);
  EXPECT_FALSE(right.tag);
}

TEST_F(GiveTags, SeenTwiceItNamesNothing) {
  lay(7, {-150, 0});
  lay(7, {150, 0});
  lay(8, {150, 130});
  EXPECT_THAT(codes(), testing::ElementsAre("tag-seen-twice"));
  EXPECT_FALSE(left.tag);
  EXPECT_EQ(right.tag, 8);
  EXPECT_THAT(faults[0].seen, HasSubstr("tag 7 lies in this photo at (450, 450) px and at (750, 450) px"));
}

TEST_F(GiveTags, OfTwoAtOnePanelTheNearerNamesIt) {
  lay(1, {-150, 160});
  lay(2, {-150, -125});
  EXPECT_THAT(codes(), testing::ElementsAre("two-tags"));
  EXPECT_EQ(left.tag, 2);
  EXPECT_FALSE(right.tag);
  EXPECT_THAT(faults[0].seen, HasSubstr("tags 2 at (450, 575) px and 1 at (450, 290) px"));
}

TEST_F(GiveTags, WithoutPanelsThereIsNothingToSay) {
  lay(1, {0, 0});
  EXPECT_TRUE(give_tags({}, sighting, view).empty());
}

}  // namespace
}  // namespace chalkfold::trace
