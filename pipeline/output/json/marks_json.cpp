// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/json/marks_json.h"
#include "pipeline/output/json/json_values.h"

#include <cmath>

namespace chalkfold::output {

namespace {
using Json = nlohmann::ordered_json;

Json mm(double value) { return rounded(value, 4); }
Json degrees(double rad) { return rounded(rad * 180 / M_PI, 4); }
Json point(const Vec2& at_in_table, const Vec2& origin) {
  return {mm(at_in_table.x() - origin.x()), mm(at_in_table.y() - origin.y())};
}
Json colour(const panel::Srgb& c) { return {c[0], c[1], c[2]}; }

template <class Points>
Json points(const Points& in_table, const Vec2& origin) {
  Json out = Json::array();
  for (const Vec2& p : in_table) out.push_back(point(p, origin));
  return out;
}

const char* name_of(panel::NotchShape shape) {
  switch (shape) {
    case panel::NotchShape::vee:
      return "vee";
    case panel::NotchShape::slit:
      return "slit";
    case panel::NotchShape::round:
      return "round";
  }
  return "";
}

Json picture_of(const std::vector<CropRecord>& crops, CropRecord::Of of, std::size_t index) {
  for (const CropRecord& crop : crops) {
    if (crop.of == of && crop.index == index) return crop.picture;
  }
  return {};
}

/// From foot to tip as the file has them (rounded): read and written again, the file stays the same.
Vec2 written_stroke(const panel::MatchMark& m, const Vec2& origin) {
  const auto written = [&](double at, double from) { return std::round((at - from) * 1e4) / 1e4; };
  return Vec2(written(m.tip.x(), origin.x()), written(m.tip.y(), origin.y())) -
         Vec2(written(m.foot.x(), origin.x()), written(m.foot.y(), origin.y()));
}

Json match_json(const panel::MatchMark& m, const Vec2& origin, const Json& picture) {
  const Vec2 stroke = written_stroke(m, origin);
  Json number;
  if (m.number)
    number = {{"low", point(m.number->low, origin)}, {"high", point(m.number->high, origin)}, {"picture", picture}};
  return {{"along", mm(m.along)},
          {"foot", point(m.foot, origin)},
          {"tip", point(m.tip, origin)},
          {"length", mm(stroke.norm())},
          {"direction_deg", degrees(std::atan2(stroke.y(), stroke.x()))},
          {"width", mm(m.width)},
          {"group", m.group},
          {"at_corner", m.at_corner},
          {"sigma", mm(m.sigma)},
          {"confidence", rounded(m.confidence, 3)},
          {"colour", colour(m.colour)},
          {"number", number}};
}

Json centre_json(const panel::CentreLine& c, const Vec2& origin) {
  return {{"from", point(c.from, origin)},
          {"to", point(c.to, origin)},
          {"straightness", mm(c.straightness)},
          {"sigma", mm(c.sigma)},
          {"sigma_angle_deg", degrees(c.sigma_angle)},
          {"confidence", rounded(c.confidence, 3)},
          {"colour", colour(c.colour)}};
}

Json grain_json(const panel::GrainLine& g, const Vec2& origin) {
  return {{"tail", point(g.tail, origin)},
          {"head", point(g.head, origin)},
          {"directed", g.directed},
          {"sigma", mm(g.sigma)},
          {"sigma_angle_deg", degrees(g.sigma_angle)},
          {"confidence", rounded(g.confidence, 3)},
          {"colour", colour(g.colour)}};
}

Json writing_json(const panel::Writing& w, const Vec2& origin, const Json& picture) {
  return {{"box", points(w.box, origin)},
          {"underside", w.underside},
          {"up_deg", w.underside ? degrees(w.up) : Json()},
          {"confidence", rounded(w.confidence, 3)},
          {"colour", colour(w.colour)},
          {"picture", picture}};
}

Json notch_json(const panel::Notch& n, const Vec2& origin) {
  return {{"shape", name_of(n.shape)},
          {"along", mm(n.along)},
          {"foot", point(n.foot, origin)},
          {"tip", point(n.tip, origin)},
          {"depth", mm(n.depth)},
          {"width", mm(n.width)},
          {"first", n.first},
          {"last", n.last},
          {"sigma", mm(n.sigma)},
          {"confidence", rounded(n.confidence, 3)}};
}

Json hole_json(const panel::DrillHole& h, const Vec2& origin) {
  return {{"centre", point(h.centre, origin)},
          {"diameter", mm(h.diameter)},
          {"sigma", mm(h.sigma)},
          {"confidence", rounded(h.confidence, 3)}};
}

Json row_json(const panel::NeedleRow& r, const Vec2& origin) {
  return {{"points", points(r.points, origin)},         {"pitch", mm(r.pitch)},
          {"found_share", rounded(r.found_share, 3)},   {"allowance", mm(r.allowance)},
          {"allowance_spread", mm(r.allowance_spread)}, {"sigma", mm(r.sigma)},
          {"confidence", rounded(r.confidence, 3)}};
}
}  // namespace

Json marks_json(const panel::Marks& marks, const Vec2& origin, const std::vector<CropRecord>& crops) {
  Json json = {{"matches", Json::array()}};
  for (std::size_t i = 0; i < marks.matches.size(); ++i)
    json["matches"].push_back(match_json(marks.matches[i], origin, picture_of(crops, CropRecord::Of::number, i)));
  json["centre"] = marks.centre ? centre_json(*marks.centre, origin) : Json();
  json["grain"] = marks.grain ? grain_json(*marks.grain, origin) : Json();
  json["writings"] = Json::array();
  for (std::size_t i = 0; i < marks.writings.size(); ++i)
    json["writings"].push_back(writing_json(marks.writings[i], origin, picture_of(crops, CropRecord::Of::writing, i)));
  json["notches"] = Json::array();
  for (const panel::Notch& n : marks.notches) json["notches"].push_back(notch_json(n, origin));
  json["holes"] = Json::array();
  for (const panel::DrillHole& h : marks.holes) json["holes"].push_back(hole_json(h, origin));
  json["needle_rows"] = Json::array();
  for (const panel::NeedleRow& r : marks.needle_rows) json["needle_rows"].push_back(row_json(r, origin));
  return json;
}

Json mark_counts_json(const panel::Marks& marks) {
  return {{"matches", marks.matches.size()},        {"centre", marks.centre.has_value()},
          {"grain", marks.grain.has_value()},       {"writings", marks.writings.size()},
          {"notches", marks.notches.size()},        {"holes", marks.holes.size()},
          {"needle_rows", marks.needle_rows.size()}};
}

}  // namespace chalkfold::output
