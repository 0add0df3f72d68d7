// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/json/read_panel_json.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "pipeline/common/error.h"
#include "pipeline/output/json/panel_json.h"
#include "tests/output/marked_flag.h"
#include "tests/output/ringed_flag.h"
#include "tests/output/spoilt_json.h"

namespace chalkfold::output {

namespace {
using testing::HasSubstr;

/// Every mark turned by an odd angle and moved, so that nothing comes out in round numbers.
PanelRecord odd_flag() {
  PanelRecord record = test::marked_flag();
  record.thickness_sigma = 0.2;
  panel::Panel& panel = record.panel;
  const geometry::Rigid2 turn{0.3217, {1234.56789, -98.7654321}};
  const auto move = [&](Vec2& p) { p = turn * p; };
  for (Vec2& p : panel.outline.points) move(p);
  for (panel::Contour& cutout : panel.cutouts)
    for (Vec2& p : cutout.points) move(p);
  panel::Marks& m = panel.marks;
  for (Vec2* p :
       {&m.matches[0].foot, &m.matches[0].tip, &m.matches[0].number->low, &m.matches[0].number->high, &m.centre->from,
        &m.centre->to, &m.grain->tail, &m.grain->head, &m.notches[0].foot, &m.notches[0].tip, &m.holes[0].centre})
    move(*p);
  for (Vec2& p : m.writings[0].box) move(p);
  for (Vec2& p : m.needle_rows[0].points) move(p);
  m.writings.push_back(m.writings[0]);
  m.writings[1].underside = false;
  m.matches.push_back(m.matches[0]);
  m.matches[1].number.reset();
  panel.tag = 7;
  panel.faults = {{"panel-low-contrast", Severity::warning, "seen", "remedy", "flag.jpg", "flag"}};
  return record;
}

std::string refusal(const std::string& bytes) {
  try {
    read_panel_json(bytes, "measured/flag.json");
  } catch (const FileError& error) {
    return error.what();
  }
  return "";
}

/// Refusal of the odd flag's file with one value changed.
std::string refusal_with(const std::string& place, const nlohmann::json& value) {
  auto json = nlohmann::json::parse(panel_json(odd_flag()));
  json[nlohmann::json::json_pointer(place)] = value;
  return refusal(json.dump());
}

constexpr double rounding = 1.1e-4;  // mm: a point and the origin are each rounded to four decimals
}  // namespace

TEST(ReadPanelJson, WrittenAgainGivesTheSameBytes) {
  for (const PanelRecord& record : {test::marked_flag(), odd_flag()}) {
    const std::string text = panel_json(record);
    EXPECT_EQ(panel_json(read_panel_json(text, "flag.json")), text);
  }
}

TEST(ReadPanelJson, GivesPanelAndMarksBackInTheTablesFrame) {
  const PanelRecord wanted = odd_flag(), got = read_panel_json(panel_json(wanted), "flag.json");
  EXPECT_EQ(got.panel.name, "flag");
  EXPECT_EQ(got.panel.photo, "flag.jpg");
  EXPECT_EQ(got.panel.tag, 7);
  EXPECT_EQ(got.thickness_sigma, 0.2);
  EXPECT_EQ(got.panel.faults.size(), 1u);
  ASSERT_EQ(got.panel.outline.points.size(), wanted.panel.outline.points.size());
  for (std::size_t i = 0; i < got.panel.outline.points.size(); ++i)
    EXPECT_LE((got.panel.outline.points[i] - wanted.panel.outline.points[i]).cwiseAbs().maxCoeff(), rounding) << i;
  ASSERT_EQ(got.panel.cutouts.size(), 1u);
  EXPECT_LE((got.panel.cutouts[0].points[3] - wanted.panel.cutouts[0].points[3]).cwiseAbs().maxCoeff(), rounding);
  const panel::Marks &a = wanted.panel.marks, &b = got.panel.marks;
  ASSERT_EQ(b.matches.size(), 2u);
  EXPECT_LE((a.matches[0].tip - b.matches[0].tip).cwiseAbs().maxCoeff(), rounding);
  EXPECT_LE((a.matches[0].number->high - b.matches[0].number->high).cwiseAbs().maxCoeff(), rounding);
  EXPECT_FALSE(b.matches[1].number);
  EXPECT_EQ(b.matches[0].colour, a.matches[0].colour);
  EXPECT_TRUE(b.matches[0].at_corner);
  EXPECT_LE((a.centre->to - b.centre->to).cwiseAbs().maxCoeff(), rounding);
  EXPECT_NEAR(b.centre->sigma_angle, a.centre->sigma_angle, 1e-6) << "rad: four decimals of a degree";
  EXPECT_LE((a.grain->head - b.grain->head).cwiseAbs().maxCoeff(), rounding);
  EXPECT_NEAR(b.writings[0].up, a.writings[0].up, 1e-6);
  EXPECT_EQ(b.notches[0].shape, panel::NotchShape::slit);
  EXPECT_EQ(b.notches[0].last, a.notches[0].last);
  EXPECT_EQ(b.holes[0].diameter, a.holes[0].diameter);
  EXPECT_EQ(b.needle_rows[0].points.size(), a.needle_rows[0].points.size());
  EXPECT_EQ(b.needle_rows[0].allowance, a.needle_rows[0].allowance);
  ASSERT_EQ(got.crops.size(), 2u);
  EXPECT_EQ(got.crops[1].picture, "pictures/marks/flag writing 1.jpg");
}

TEST(ReadPanelJson, IsNeverMirrored) {
  const PanelRecord got = read_panel_json(panel_json(test::marked_flag()), "flag.json");
  const Vec2 origin = geometry::bounding_box(got.panel.outline.points).min;
  EXPECT_FALSE(geometry::contains(got.panel.outline.points, origin + test::flag_notch));
  EXPECT_TRUE(geometry::contains(got.panel.outline.points, origin + test::flag_notch_mirrored));
}

TEST(ReadPanelJson, NamesFileKeyAndWhatWasExpected) {
  EXPECT_THAT(refusal_with("/schema", "chalkfold-panel-9"),
              HasSubstr("measured/flag.json: schema: found \"chalkfold-panel-9\", expected \"chalkfold-panel-1\"."));
  EXPECT_THAT(refusal_with("/thickness", "thin"),
              HasSubstr("thickness: found \"thin\", expected a number of 0 or more."));
  EXPECT_THAT(refusal_with("/outline/sigma/3", nullptr), HasSubstr("outline.sigma[3]: found null, expected a number"));
  EXPECT_THAT(refusal_with("/outline/U", {0.1}), HasSubstr("outline.U: found a list of 1, expected a list of "));
  EXPECT_THAT(refusal_with("/outline/points", {{0, 0}, {1, 1}}), HasSubstr("expected a list of 3 points or more"));
  EXPECT_THAT(refusal_with("/frame/mirrored", true), HasSubstr("frame.mirrored: found true, expected false"));
  EXPECT_THAT(refusal_with("/marks/notches/0/last", 100000),
              HasSubstr("marks.notches[0].last: found 100000, expected a whole number from 0 to "));
  EXPECT_THAT(refusal_with("/marks/matches/0/confidence", 1.5),
              HasSubstr("marks.matches[0].confidence: found 1.5, expected a number from 0 to 1."));
  EXPECT_THAT(refusal_with("/marks/centre/colour", {1, 2, 256}),
              HasSubstr("marks.centre.colour[2]: found 256, expected a whole number from 0 to 255."));
  EXPECT_THAT(refusal_with("/marks/writings/1/up_deg", 3), HasSubstr("up_deg: found 3, expected null"));
  EXPECT_THAT(refusal_with("/marks/holes", {{"centre", 1}}),
              HasSubstr("marks.holes: found an object, expected a list."));
  EXPECT_THAT(refusal_with("/thikness", 1), HasSubstr("thikness: no such key, perhaps thickness is meant."));
}

TEST(ReadPanelJson, RefusesNotchesThatLieInOneAnother) {
  auto record = odd_flag();
  record.panel.marks.notches.push_back(record.panel.marks.notches[0]);
  record.panel.marks.notches[1].first = 2;
  record.panel.marks.notches[1].last = 5;
  EXPECT_THAT(refusal(panel_json(record)),
              HasSubstr("marks.notches: found a list of 2, expected notches that do not lie in one another."));
  record.panel.marks.notches[1].first = 3;
  EXPECT_EQ(refusal(panel_json(record)), "") << "side by side is well";
}

TEST(ReadPanelJson, WhateverIsSpoiltGivesAFileErrorOrAPanelWhoseNotchesCanBeTakenAway) {
  int refused = 0, read = 0;
  test::for_each_spoilt(nlohmann::json::parse(panel_json(odd_flag())),
                        [&](const nlohmann::json& spoilt, const std::string& place) {
                          try {
                            const PanelRecord record = read_panel_json(spoilt.dump(), "measured/flag.json");
                            EXPECT_GE(panel::outline_across_notches(record.panel).points.size(), 3u) << place;
                            ++read;
                          } catch (const FileError& error) {
                            EXPECT_THAT(error.what(), HasSubstr("measured/flag.json: ")) << place;
                            ++refused;
                          }
                        });
  EXPECT_GT(refused, 1000);
  EXPECT_GT(read, 100);
}

TEST(ReadPanelJson, RefusesAFileCutShortAtAnyByte) {
  const std::string whole = panel_json(odd_flag());
  for (std::size_t size = 0; size + 1 < whole.size(); size += 211)
    EXPECT_THAT(refusal(whole.substr(0, size)), HasSubstr("measured/flag.json: the file was cut short at byte "))
        << size;
}

TEST(ReadPanelJson, GivesAHideBack) {
  PanelRecord record;
  record.panel = test::ringed_flag();
  const panel::Panel &wrote = record.panel, read = read_panel_json(panel_json(record), "hide.json").panel;
  EXPECT_EQ(read.kind, panel::PanelKind::hide);
  EXPECT_EQ(read.face_up, wrote.face_up);
  ASSERT_EQ(read.flaws.size(), wrote.flaws.size());
  for (std::size_t i = 0; i < read.flaws.size(); ++i) {
    const panel::Flaw &a = read.flaws[i], &b = wrote.flaws[i];
    ASSERT_EQ(a.ring.size(), b.ring.size());
    for (std::size_t k = 0; k < a.ring.size(); ++k) EXPECT_LT((a.ring[k] - b.ring[k]).norm(), rounding);
    EXPECT_EQ(std::tie(a.width, a.gap, a.U, a.confidence, a.colour),
              std::tie(b.width, b.gap, b.U, b.confidence, b.colour));
  }
  record.panel.face_up.reset();
  EXPECT_FALSE(read_panel_json(panel_json(record), "hide.json").panel.face_up);
  auto json = nlohmann::json::parse(panel_json(record));
  json["kind"] = "cow";
  EXPECT_THAT(refusal(json.dump()), HasSubstr("kind: found \"cow\", expected one of \"hide\", \"offcut\""));
}

}  // namespace chalkfold::output
