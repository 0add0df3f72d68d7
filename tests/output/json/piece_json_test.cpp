// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/json/piece_json.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <limits>

#include "pipeline/common/error.h"
#include "tests/output/schema_check.h"
#include "tests/output/sized_flag.h"
#include "tests/output/spoilt_json.h"

namespace chalkfold::output {

namespace {
using testing::HasSubstr;

nlohmann::json good() { return nlohmann::json::parse(piece_json_text(test::sized_flag())); }

std::string refusal(const nlohmann::json& json) {
  try {
    read_piece(json, "pieces/flag.json");
  } catch (const FileError& error) {
    return error.what();
  }
  return "";
}

std::string refusal_of_bytes(const std::string& bytes) {
  try {
    read_piece_text(bytes, "pieces/flag.json");
  } catch (const FileError& error) {
    return error.what();
  }
  return "";
}

// Bit for bit throughout: no tolerance.
void expect_same(const geometry::Curve& a, const geometry::Curve& b) {
  ASSERT_EQ(a.size(), b.size());
  for (std::size_t i = 0; i < a.size(); ++i) {
    EXPECT_EQ(a[i].kind, b[i].kind);
    EXPECT_EQ(a[i].from, b[i].from);
    EXPECT_EQ(a[i].to, b[i].to);
    if (a[i].kind == geometry::CurveSegment::Kind::arc) {
      EXPECT_EQ(a[i].centre, b[i].centre);
      EXPECT_EQ(a[i].counter_clockwise, b[i].counter_clockwise);
    }
    if (a[i].kind == geometry::CurveSegment::Kind::cubic) {
      EXPECT_EQ(a[i].control1, b[i].control1);
      EXPECT_EQ(a[i].control2, b[i].control2);
    }
  }
}

void expect_same(const draft::PieceEdge& a, const draft::PieceEdge& b) {
  EXPECT_EQ(a.number, b.number);
  expect_same(a.sew, b.sew);
  EXPECT_EQ(a.allowance, b.allowance);
  EXPECT_EQ(a.largest_departure, b.largest_departure);
  EXPECT_EQ(a.sigma, b.sigma);
  EXPECT_EQ(a.U, b.U);
}

void expect_same(const draft::PieceMark& a, const draft::PieceMark& b) {
  EXPECT_EQ(a.kind, b.kind);
  EXPECT_EQ(a.shape, b.shape);
  EXPECT_EQ(a.edge, b.edge);
  EXPECT_EQ(a.along, b.along);
  EXPECT_EQ(a.on_sew, b.on_sew);
  EXPECT_EQ(a.on_cut, b.on_cut);
  EXPECT_EQ(a.inward, b.inward);
  EXPECT_EQ(a.depth, b.depth);
  EXPECT_EQ(a.group, b.group);
  EXPECT_EQ(a.origin, b.origin);
}

void expect_same(const draft::PieceLabel& a, const draft::PieceLabel& b) {
  EXPECT_EQ(a.words, b.words);
  EXPECT_EQ(a.at, b.at);
  EXPECT_EQ(a.height, b.height);
  EXPECT_EQ(a.angle, b.angle);
  EXPECT_EQ(a.length, b.length);
}

void expect_same(const draft::ShapeChange& a, const draft::ShapeChange& b) {
  EXPECT_EQ(a.done, b.done);
  EXPECT_EQ(a.rms, b.rms);
  EXPECT_EQ(a.largest, b.largest);
  EXPECT_EQ(a.before, b.before);
  EXPECT_EQ(a.moves, b.moves);
  EXPECT_EQ(a.reason, b.reason);
}

void expect_same(const Fault& a, const Fault& b) {
  EXPECT_EQ(a.code, b.code);
  EXPECT_EQ(a.severity, b.severity);
  EXPECT_EQ(a.seen, b.seen);
  EXPECT_EQ(a.remedy, b.remedy);
  EXPECT_EQ(a.photo, b.photo);
  EXPECT_EQ(a.panel, b.panel);
}

template <class T>
void expect_all_same(const std::vector<T>& a, const std::vector<T>& b) {
  ASSERT_EQ(a.size(), b.size());
  for (std::size_t i = 0; i < a.size(); ++i) expect_same(a[i], b[i]);
}

void expect_same(const draft::Piece& a, const draft::Piece& b) {
  EXPECT_EQ(a.name, b.name);
  EXPECT_EQ(a.part, b.part);
  EXPECT_EQ(a.job, b.job);
  EXPECT_EQ(a.material, b.material);
  EXPECT_EQ(a.number, b.number);
  EXPECT_EQ(a.quantity, b.quantity);
  EXPECT_EQ(a.one_mirrored, b.one_mirrored);
  EXPECT_EQ(a.side, b.side);
  expect_all_same(a.edges, b.edges);
  EXPECT_EQ(a.sew_line, b.sew_line);
  expect_same(a.cut, b.cut);
  EXPECT_EQ(a.cut_line, b.cut_line);
  EXPECT_EQ(a.cutouts, b.cutouts);
  EXPECT_EQ(a.axis, b.axis);
  EXPECT_EQ(a.grain, b.grain);
  EXPECT_EQ(a.grain_directed, b.grain_directed);
  EXPECT_EQ(a.underside, b.underside);
  expect_all_same(a.marks, b.marks);
  EXPECT_EQ(a.holes, b.holes);
  EXPECT_EQ(a.internal, b.internal);
  expect_all_same(a.labels, b.labels);
  expect_same(a.symmetry, b.symmetry);
  expect_same(a.pairing, b.pairing);
  EXPECT_EQ(a.measured_on, b.measured_on);
  EXPECT_EQ(a.U, b.U);
  expect_all_same(a.faults, b.faults);
}
}  // namespace

TEST(PieceJson, FitsItsSchema) {
  EXPECT_EQ(test::complaints("piece.schema.json", good()), "");
  draft::Piece bare = test::sized_flag();
  bare.axis.reset();
  bare.grain.reset();
  bare.underside.reset();
  EXPECT_EQ(test::complaints("piece.schema.json", nlohmann::json::parse(piece_json_text(bare))), "");
}

TEST(PieceJson, TheSchemaRefusesMissingStrangeAndWrongFields) {
  auto missing = good(), strange = good(), wrong = good(), half_an_arc = good();
  missing.erase("cut");
  strange["scale"] = 1;
  wrong["side"] = "outside";
  half_an_arc["cut"][2].erase("centre");
  for (const auto& document : {missing, strange, wrong, half_an_arc})
    EXPECT_NE(test::complaints("piece.schema.json", document), "");
}

TEST(PieceJson, ReadsBackToTheSamePieceBothSides) {
  const draft::Piece inside = test::sized_flag();
  for (const draft::Piece& piece : {inside, draft::other_side(inside)}) {
    const std::string text = piece_json_text(piece);
    const draft::Piece again = read_piece_text(text, "flag.json");
    expect_same(piece, again);
    EXPECT_EQ(piece_json_text(again), text);
  }
}

TEST(PieceJson, ReadsBackWithoutWhatAPieceMayLack) {
  draft::Piece piece = test::sized_flag();
  piece.axis.reset();
  piece.grain.reset();
  piece.underside.reset();
  piece.grain_directed = false;
  piece.marks.clear();
  piece.labels.clear();
  piece.faults.clear();
  expect_same(piece, read_piece_text(piece_json_text(piece), "flag.json"));
}

TEST(PieceJson, FaceIsTheMirrorImageAndSaysSo) {
  const auto inside = good(), face = nlohmann::json::parse(piece_json_text(draft::other_side(test::sized_flag())));
  EXPECT_EQ(inside["side"], "inside");
  EXPECT_EQ(face["side"], "face");
  const auto places = test::sized_flag_places(200 + 1.0 / 3, 120 + 1.0 / 7);
  const auto in = [](const nlohmann::json& json, const Vec2& at) {
    Polyline line;
    for (const auto& p : json["cut_line"]) line.emplace_back(p[0], p[1]);
    return geometry::contains(line, at);
  };
  EXPECT_TRUE(in(inside, places.square_corner));
  EXPECT_FALSE(in(inside, places.round_corner));
  EXPECT_TRUE(in(face, Vec2(-places.square_corner.x(), places.square_corner.y())));
  EXPECT_FALSE(in(face, places.square_corner)) << "the face view lies left of its axis";
}

TEST(PieceJson, ANumberThatIsNoneIsABrokenInvariant) {
  draft::Piece piece = test::sized_flag();
  piece.edges[1].U = std::numeric_limits<double>::quiet_NaN();
  EXPECT_THROW(piece_json(piece), std::logic_error);
}

TEST(ReadPiece, NamesFileKeyAndWhatWasExpected) {
  auto json = good();
  json["edges"][1]["allowance"] = "ten";
  EXPECT_THAT(refusal(json),
              HasSubstr("pieces/flag.json: edges[1].allowance: found \"ten\", expected a number of 0 or more."));
  json = good();
  json["cut"][2]["centre"] = {1};
  EXPECT_THAT(refusal(json), HasSubstr("cut[2].centre: found a list of 1, expected a point, [x, y]."));
  json = good();
  json["cut_line"][4][0] = nullptr;
  EXPECT_THAT(refusal(json), HasSubstr("cut_line[4]: found a list of 2, expected a point"));
  json = good();
  json["marks"][0]["shape"] = "square";
  EXPECT_THAT(refusal(json),
              HasSubstr("marks[0].shape: found \"square\", expected one of \"vee\", \"slit\", \"round\"."));
  json = good();
  json["number"] = 1.5;
  EXPECT_THAT(refusal(json), HasSubstr("number: found 1.5, expected a whole number from 1 to "));
  json = good();
  json["symmetry"]["moves"].erase(0);
  EXPECT_THAT(refusal(json), HasSubstr("symmetry.moves: found a list of 2, expected as many as in before, 3."));
  json = good();
  json.erase("sew_line");
  EXPECT_THAT(refusal(json), HasSubstr("pieces/flag.json: sew_line: is missing."));
  json = good();
  json["edges"][0]["alowance"] = 1;
  EXPECT_THAT(refusal(json), HasSubstr("edges[0].alowance: no such key, perhaps allowance is meant."));
}

TEST(ReadPiece, RefusesAnotherSchemaBeforeAnythingElse) {
  auto json = good();
  json["schema"] = "chalkfold-piece-9";
  json["side"] = 4;
  EXPECT_THAT(refusal(json), HasSubstr("schema: found \"chalkfold-piece-9\", expected \"chalkfold-piece-1\"."));
  EXPECT_THAT(refusal(nlohmann::json::array()), HasSubstr("the whole file: found a list of 0, expected an object."));
}

TEST(ReadPiece, WhateverIsSpoiltGivesAFileErrorOrAPieceThatFitsTheSchema) {
  int refused = 0, read = 0;
  test::for_each_spoilt(good(), [&](const nlohmann::json& spoilt, const std::string& place) {
    try {
      const draft::Piece piece = read_piece(spoilt, "pieces/flag.json");
      EXPECT_EQ(test::complaints("piece.schema.json", nlohmann::json::parse(piece_json_text(piece))), "") << place;
      ++read;
    } catch (const FileError& error) {
      EXPECT_THAT(error.what(), HasSubstr("pieces/flag.json: ")) << place;
      ++refused;
    }
  });
  EXPECT_GT(refused, 1000);
  EXPECT_GT(read, 100);
}

TEST(ReadPiece, RefusesAFileCutShortAtAnyByte) {
  const std::string whole = piece_json_text(test::sized_flag());
  for (std::size_t size = 0; size + 1 < whole.size(); size += 97) {
    EXPECT_THAT(refusal_of_bytes(whole.substr(0, size)), HasSubstr("pieces/flag.json: the file was cut short at byte "))
        << size;
  }
  EXPECT_THAT(refusal_of_bytes("<svg/>"), HasSubstr("this is no JSON at byte 1 of 6"));
  EXPECT_THAT(refusal_of_bytes(R"({"schema": 1e999})"), HasSubstr("too large"));
}

}  // namespace chalkfold::output
