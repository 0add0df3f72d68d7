// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/json/read_marks.h"

#include <algorithm>
#include <numbers>

namespace chalkfold::output {

namespace {
double rad(const JsonPlace& degrees) { return degrees.number() * std::numbers::pi / 180; }

double rad_not_negative(const JsonPlace& degrees) { return degrees.not_negative() * std::numbers::pi / 180; }

/// A place in the `panel` frame, as one in the table's.
class Frame {
 public:
  explicit Frame(const Vec2& origin) : origin_(origin) {}
  Vec2 point(const JsonPlace& place) const { return place.point() + origin_; }
  Polyline points(const JsonPlace& place, std::size_t least) const {
    Polyline out = place.points(least);
    for (Vec2& p : out) p += origin_;
    return out;
  }

 private:
  Vec2 origin_;
};

void read_picture(const JsonPlace& picture, CropRecord::Of of, std::size_t index, std::vector<CropRecord>& crops) {
  if (!picture.is_null()) crops.push_back({of, index, picture.text()});
}

panel::MatchMark match(const JsonPlace& place, const Frame& frame) {
  place.only({"along", "foot", "tip", "length", "direction_deg", "width", "group", "at_corner", "sigma", "confidence",
              "colour", "number"});
  panel::MatchMark m;
  m.along = place["along"].not_negative();
  m.foot = frame.point(place["foot"]);
  m.tip = frame.point(place["tip"]);
  place["length"].not_negative();  // follow from foot and tip
  place["direction_deg"].number();
  m.width = place["width"].not_negative();
  m.group = place["group"].integer(0);
  m.at_corner = place["at_corner"].yes_or_no();
  m.sigma = place["sigma"].not_negative();
  m.confidence = place["confidence"].share();
  m.colour = read_colour(place["colour"]);
  const JsonPlace number = place["number"];
  if (number.is_null()) return m;
  number.only({"low", "high", "picture"});
  m.number = panel::MarkCrop{frame.point(number["low"]), frame.point(number["high"])};
  return m;
}

panel::CentreLine centre(const JsonPlace& place, const Frame& frame) {
  place.only({"from", "to", "straightness", "sigma", "sigma_angle_deg", "confidence", "colour"});
  panel::CentreLine c;
  c.from = frame.point(place["from"]);
  c.to = frame.point(place["to"]);
  c.straightness = place["straightness"].not_negative();
  c.sigma = place["sigma"].not_negative();
  c.sigma_angle = rad_not_negative(place["sigma_angle_deg"]);
  c.confidence = place["confidence"].share();
  c.colour = read_colour(place["colour"]);
  return c;
}

panel::GrainLine grain(const JsonPlace& place, const Frame& frame) {
  place.only({"tail", "head", "directed", "sigma", "sigma_angle_deg", "confidence", "colour"});
  panel::GrainLine g;
  g.tail = frame.point(place["tail"]);
  g.head = frame.point(place["head"]);
  g.directed = place["directed"].yes_or_no();
  g.sigma = place["sigma"].not_negative();
  g.sigma_angle = rad_not_negative(place["sigma_angle_deg"]);
  g.confidence = place["confidence"].share();
  g.colour = read_colour(place["colour"]);
  return g;
}

panel::Writing writing(const JsonPlace& place, const Frame& frame) {
  place.only({"box", "underside", "up_deg", "confidence", "colour", "picture"});
  panel::Writing w;
  const Polyline box = frame.points(place["box"], w.box.size());
  if (box.size() != w.box.size()) place["box"].fail("a list of 4 points");
  std::copy(box.begin(), box.end(), w.box.begin());
  w.underside = place["underside"].yes_or_no();
  if (w.underside) w.up = rad(place["up_deg"]);
  if (!w.underside && !place["up_deg"].is_null()) place["up_deg"].fail("null: only the underside letter has it");
  w.confidence = place["confidence"].share();
  w.colour = read_colour(place["colour"]);
  return w;
}

panel::Notch notch(const JsonPlace& place, const Frame& frame, int last_index) {
  place.only({"shape", "along", "foot", "tip", "depth", "width", "first", "last", "sigma", "confidence"});
  panel::Notch n;
  n.shape = place["shape"].one_of<panel::NotchShape>(
      {{"vee", panel::NotchShape::vee}, {"slit", panel::NotchShape::slit}, {"round", panel::NotchShape::round}});
  n.along = place["along"].not_negative();
  n.foot = frame.point(place["foot"]);
  n.tip = frame.point(place["tip"]);
  n.depth = place["depth"].not_negative();
  n.width = place["width"].not_negative();
  n.first = static_cast<std::size_t>(place["first"].integer(0, last_index));
  n.last = static_cast<std::size_t>(place["last"].integer(0, last_index));
  n.sigma = place["sigma"].not_negative();
  n.confidence = place["confidence"].share();
  return n;
}

panel::DrillHole hole(const JsonPlace& place, const Frame& frame) {
  place.only({"centre", "diameter", "sigma", "confidence"});
  panel::DrillHole h;
  h.centre = frame.point(place["centre"]);
  h.diameter = place["diameter"].not_negative();
  h.sigma = place["sigma"].not_negative();
  h.confidence = place["confidence"].share();
  return h;
}

panel::NeedleRow needle_row(const JsonPlace& place, const Frame& frame) {
  place.only({"points", "pitch", "found_share", "allowance", "allowance_spread", "sigma", "confidence"});
  panel::NeedleRow r;
  r.points = frame.points(place["points"], 2);
  r.pitch = place["pitch"].not_negative();
  r.found_share = place["found_share"].share();
  r.allowance = place["allowance"].not_negative();
  r.allowance_spread = place["allowance_spread"].not_negative();
  r.sigma = place["sigma"].not_negative();
  r.confidence = place["confidence"].share();
  return r;
}

/// What outline_across_notches asks for: no notch begins or ends inside another one, and an outline is left.
void check_notches(const JsonPlace& place, const std::vector<panel::Notch>& notches, std::size_t outline_points) {
  std::vector<bool> inside(outline_points, false);
  for (const panel::Notch& n : notches) {
    for (std::size_t i = (n.first + 1) % outline_points; i != n.last; i = (i + 1) % outline_points) inside[i] = true;
  }
  for (const panel::Notch& n : notches) {
    if (inside[n.first] || inside[n.last]) place.fail("notches that do not lie in one another");
  }
  if (std::count(inside.begin(), inside.end(), false) < 3) place.fail("notches that leave an outline between them");
}
}  // namespace

panel::Marks read_marks(const JsonPlace& place, const Vec2& origin, std::size_t outline_points,
                        std::vector<CropRecord>& crops) {
  place.only({"matches", "centre", "grain", "writings", "notches", "holes", "needle_rows"});
  const Frame frame(origin);
  panel::Marks marks;
  for (const JsonPlace& m : place["matches"].items()) {
    marks.matches.push_back(match(m, frame));
    if (marks.matches.back().number)
      read_picture(m["number"]["picture"], CropRecord::Of::number, marks.matches.size() - 1, crops);
  }
  if (!place["centre"].is_null()) marks.centre = centre(place["centre"], frame);
  if (!place["grain"].is_null()) marks.grain = grain(place["grain"], frame);
  for (const JsonPlace& w : place["writings"].items()) {
    marks.writings.push_back(writing(w, frame));
    read_picture(w["picture"], CropRecord::Of::writing, marks.writings.size() - 1, crops);
  }
  for (const JsonPlace& n : place["notches"].items()) {
    marks.notches.push_back(notch(n, frame, static_cast<int>(outline_points) - 1));
  }
  check_notches(place["notches"], marks.notches, outline_points);
  for (const JsonPlace& h : place["holes"].items()) marks.holes.push_back(hole(h, frame));
  for (const JsonPlace& r : place["needle_rows"].items()) marks.needle_rows.push_back(needle_row(r, frame));
  return marks;
}

panel::Srgb read_colour(const JsonPlace& place) {
  constexpr int brightest = 255;
  const auto parts = place.items(3);
  if (parts.size() != 3) place.fail("a colour, [red, green, blue]");
  panel::Srgb c;
  for (std::size_t i = 0; i < 3; ++i) c[i] = static_cast<std::uint8_t>(parts[i].integer(0, brightest));
  return c;
}

}  // namespace chalkfold::output
