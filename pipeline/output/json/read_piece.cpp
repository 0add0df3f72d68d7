// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/json/json_place.h"
#include "pipeline/output/json/piece_json.h"
#include "pipeline/output/json/read_fault.h"

namespace chalkfold::output {

namespace {
std::array<Vec2, 2> two_points(const JsonPlace& place) {
  const Polyline points = place.points(2);
  if (points.size() != 2) place.fail("a list of 2 points");
  return {points[0], points[1]};
}

std::vector<Polyline> lines(const JsonPlace& place, std::size_t least) {
  std::vector<Polyline> out;
  for (const JsonPlace& line : place.items()) out.push_back(line.points(least));
  return out;
}

geometry::CurveSegment segment(const JsonPlace& place) {
  using Kind = geometry::CurveSegment::Kind;
  geometry::CurveSegment s;
  s.kind = place["kind"].one_of<Kind>({{"line", Kind::line}, {"arc", Kind::arc}, {"cubic", Kind::cubic}});
  s.from = place["from"].point();
  s.to = place["to"].point();
  if (s.kind == Kind::line) place.only({"kind", "from", "to"});
  if (s.kind == Kind::arc) {
    place.only({"kind", "from", "to", "centre", "counter_clockwise"});
    s.centre = place["centre"].point();
    s.counter_clockwise = place["counter_clockwise"].yes_or_no();
  }
  if (s.kind == Kind::cubic) {
    place.only({"kind", "from", "to", "control1", "control2"});
    s.control1 = place["control1"].point();
    s.control2 = place["control2"].point();
  }
  return s;
}

geometry::Curve curve(const JsonPlace& place) {
  geometry::Curve out;
  for (const JsonPlace& s : place.items(1)) out.push_back(segment(s));
  return out;
}

draft::PieceEdge edge(const JsonPlace& place) {
  place.only({"number", "sew", "allowance", "largest_departure", "sigma", "U"});
  draft::PieceEdge e;
  e.number = place["number"].integer(1);
  e.sew = curve(place["sew"]);
  e.allowance = place["allowance"].not_negative();
  e.largest_departure = place["largest_departure"].not_negative();
  e.sigma = place["sigma"].not_negative();
  e.U = place["U"].not_negative();
  return e;
}

draft::PieceMark mark(const JsonPlace& place) {
  using Kind = draft::PieceMark::Kind;
  place.only({"kind", "shape", "edge", "along", "on_sew", "on_cut", "inward", "depth", "group", "origin"});
  draft::PieceMark m;
  m.kind = place["kind"].one_of<Kind>({{"match", Kind::match}, {"notch", Kind::notch}});
  m.shape = place["shape"].one_of<panel::NotchShape>(
      {{"vee", panel::NotchShape::vee}, {"slit", panel::NotchShape::slit}, {"round", panel::NotchShape::round}});
  m.edge = place["edge"].integer(1);
  m.along = place["along"].number();
  m.on_sew = place["on_sew"].point();
  m.on_cut = place["on_cut"].point();
  m.inward = place["inward"].point();
  m.depth = place["depth"].not_negative();
  m.group = place["group"].integer(0);
  m.origin = place["origin"].one_of<draft::MarkOrigin>({{"measured", draft::MarkOrigin::measured},
                                                        {"averaged", draft::MarkOrigin::averaged},
                                                        {"mirrored", draft::MarkOrigin::mirrored}});
  return m;
}

draft::PieceLabel label(const JsonPlace& place) {
  place.only({"words", "at", "height", "angle", "length"});
  return {place["words"].text(), place["at"].point(), place["height"].not_negative(), place["angle"].number(),
          place["length"].not_negative()};
}

draft::ShapeChange change(const JsonPlace& place) {
  place.only({"done", "rms", "largest", "reason", "before", "moves"});
  draft::ShapeChange c;
  c.done = place["done"].yes_or_no();
  c.rms = place["rms"].not_negative();
  c.largest = place["largest"].not_negative();
  c.reason = place["reason"].text();
  c.before = place["before"].points();
  c.moves = place["moves"].points();
  if (c.moves.size() != c.before.size())
    place["moves"].fail("as many as in before, " + std::to_string(c.before.size()));
  return c;
}

void read_heading(draft::Piece& piece, const JsonPlace& file) {
  piece.name = file["name"].text();
  piece.part = file["part"].text();
  piece.job = file["job"].text();
  piece.material = file["material"].text();
  piece.number = file["number"].integer(1);
  piece.quantity = file["quantity"].integer(1);
  piece.one_mirrored = file["one_mirrored"].yes_or_no();
  piece.side = file["side"].one_of<draft::Side>({{"inside", draft::Side::inside}, {"face", draft::Side::face}});
  piece.measured_on = file["measured_on"].text();
  piece.U = file["U"].not_negative();
  piece.adjusted = file.has("adjusted") && file["adjusted"].yes_or_no();
}

void read_lines(draft::Piece& piece, const JsonPlace& file) {
  constexpr std::size_t closed = 3;  // points that a closed line has at the least
  for (const JsonPlace& e : file["edges"].items(1)) piece.edges.push_back(edge(e));
  piece.sew_line = file["sew_line"].points(closed);
  piece.cut = curve(file["cut"]);
  piece.cut_line = file["cut_line"].points(closed);
  piece.cutouts = lines(file["cutouts"], closed);
}

void read_drawn(draft::Piece& piece, const JsonPlace& file) {
  if (!file["axis"].is_null()) piece.axis = two_points(file["axis"]);
  if (!file["grain"].is_null()) piece.grain = two_points(file["grain"]);
  piece.grain_directed = file["grain_directed"].yes_or_no();
  if (!file["underside"].is_null()) piece.underside = file["underside"].point();
  for (const JsonPlace& m : file["marks"].items()) piece.marks.push_back(mark(m));
  for (const JsonPlace& hole : file["holes"].items()) {
    hole.only({"centre", "diameter"});
    piece.holes.emplace_back(hole["centre"].point(), hole["diameter"].not_negative());
  }
  piece.internal = lines(file["internal"], 2);
  for (const JsonPlace& l : file["labels"].items()) piece.labels.push_back(label(l));
}
}  // namespace

draft::Piece read_piece(const nlohmann::json& json, const std::string& where) {
  const JsonPlace file(json, where);
  if (file["schema"].text() != piece_schema) file["schema"].fail(std::string("\"") + piece_schema + "\"");
  file.only({"schema",         "program",   "version",  "unit",         "name",     "part",        "job",
             "material",       "number",    "quantity", "one_mirrored", "side",     "measured_on", "U",
             "edges",          "sew_line",  "cut",      "cut_line",     "cutouts",  "axis",        "grain",
             "grain_directed", "underside", "marks",    "holes",        "internal", "labels",      "symmetry",
             "pairing",        "faults",    "adjusted"});
  file["program"].one_of<bool>({{"chalkfold", true}});
  file["version"].text();
  file["unit"].one_of<bool>({{"mm", true}});
  draft::Piece piece;
  read_heading(piece, file);
  read_lines(piece, file);
  read_drawn(piece, file);
  piece.symmetry = change(file["symmetry"]);
  piece.pairing = change(file["pairing"]);
  piece.faults = read_faults(file["faults"]);
  return piece;
}

draft::Piece read_piece_text(std::string_view bytes, const std::string& where) {
  return read_piece(parsed_json(bytes, where), where);
}

}  // namespace chalkfold::output
