// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/json/piece_json.h"

#include <fmt/format.h>

#include <cmath>

#include "pipeline/common/require.h"
#include "pipeline/common/utf8.h"
#include "pipeline/common/version.h"
#include "pipeline/output/json/json_values.h"

namespace chalkfold::output {

namespace {
using Json = nlohmann::ordered_json;

double finite(double value) {
  if (!std::isfinite(value)) throw PreconditionError(fmt::format("a piece holds the number {}", value));
  return value;
}

Json point(const Vec2& p) { return Json::array({finite(p.x()), finite(p.y())}); }

template <class Points>
Json points(const Points& line) {
  Json out = Json::array();
  for (const Vec2& p : line) out.push_back(point(p));
  return out;
}

Json lines(const std::vector<Polyline>& all) {
  Json out = Json::array();
  for (const Polyline& line : all) out.push_back(points(line));
  return out;
}

Json segment_json(const geometry::CurveSegment& s) {
  Json json = {{"kind", "line"}, {"from", point(s.from)}, {"to", point(s.to)}};
  if (s.kind == geometry::CurveSegment::Kind::arc) {
    json["kind"] = "arc";
    json["centre"] = point(s.centre);
    json["counter_clockwise"] = s.counter_clockwise;
  } else if (s.kind == geometry::CurveSegment::Kind::cubic) {
    json["kind"] = "cubic";
    json["control1"] = point(s.control1);
    json["control2"] = point(s.control2);
  }
  return json;
}

Json curve_json(const geometry::Curve& curve) {
  Json out = Json::array();
  for (const geometry::CurveSegment& s : curve) out.push_back(segment_json(s));
  return out;
}

Json edge_json(const draft::PieceEdge& e) {
  return {{"number", e.number},
          {"sew", curve_json(e.sew)},
          {"allowance", finite(e.allowance)},
          {"largest_departure", finite(e.largest_departure)},
          {"sigma", finite(e.sigma)},
          {"U", finite(e.U)}};
}

const char* name_of(panel::NotchShape shape) {
  return shape == panel::NotchShape::vee ? "vee" : shape == panel::NotchShape::slit ? "slit" : "round";
}

const char* name_of(draft::MarkOrigin origin) {
  return origin == draft::MarkOrigin::measured   ? "measured"
         : origin == draft::MarkOrigin::averaged ? "averaged"
                                                 : "mirrored";
}

Json mark_json(const draft::PieceMark& m) {
  return {{"kind", m.kind == draft::PieceMark::Kind::match ? "match" : "notch"},
          {"shape", name_of(m.shape)},
          {"edge", m.edge},
          {"along", finite(m.along)},
          {"on_sew", point(m.on_sew)},
          {"on_cut", point(m.on_cut)},
          {"inward", point(m.inward)},
          {"depth", finite(m.depth)},
          {"group", m.group},
          {"origin", name_of(m.origin)}};
}

Json label_json(const draft::PieceLabel& l) {
  return {{"words", plain_text(l.words)},
          {"at", point(l.at)},
          {"height", finite(l.height)},
          {"angle", finite(l.angle)},
          {"length", finite(l.length)}};
}

Json change_json(const draft::ShapeChange& c) {
  return {{"done", c.done},
          {"rms", finite(c.rms)},
          {"largest", finite(c.largest)},
          {"reason", plain_text(c.reason)},
          {"before", points(c.before)},
          {"moves", points(c.moves)}};
}

void add_heading(Json& json, const draft::Piece& piece) {
  json["name"] = plain_text(piece.name);
  json["part"] = plain_text(piece.part);
  json["job"] = plain_text(piece.job);
  json["material"] = plain_text(piece.material);
  json["number"] = piece.number;
  json["quantity"] = piece.quantity;
  json["one_mirrored"] = piece.one_mirrored;
  json["side"] = piece.side == draft::Side::inside ? "inside" : "face";
  json["measured_on"] = plain_text(piece.measured_on);
  json["U"] = finite(piece.U);
  if (piece.adjusted) json["adjusted"] = true;
}

void add_drawn(Json& json, const draft::Piece& piece) {
  json["axis"] = piece.axis ? points(*piece.axis) : Json();
  json["grain"] = piece.grain ? points(*piece.grain) : Json();
  json["grain_directed"] = piece.grain_directed;
  json["underside"] = piece.underside ? point(*piece.underside) : Json();
  json["marks"] = Json::array();
  for (const draft::PieceMark& mark : piece.marks) json["marks"].push_back(mark_json(mark));
  json["holes"] = Json::array();
  for (const auto& [centre, diameter] : piece.holes) {
    json["holes"].push_back({{"centre", point(centre)}, {"diameter", finite(diameter)}});
  }
  json["internal"] = lines(piece.internal);
  json["labels"] = Json::array();
  for (const draft::PieceLabel& label : piece.labels) json["labels"].push_back(label_json(label));
}
}  // namespace

Json piece_json(const draft::Piece& piece) {
  Json json = {{"schema", piece_schema}, {"program", "chalkfold"}, {"version", program_version()}, {"unit", "mm"}};
  add_heading(json, piece);
  json["edges"] = Json::array();
  for (const draft::PieceEdge& edge : piece.edges) json["edges"].push_back(edge_json(edge));
  json["sew_line"] = points(piece.sew_line);
  json["cut"] = curve_json(piece.cut);
  json["cut_line"] = points(piece.cut_line);
  json["cutouts"] = lines(piece.cutouts);
  add_drawn(json, piece);
  json["symmetry"] = change_json(piece.symmetry);
  json["pairing"] = change_json(piece.pairing);
  json["faults"] = faults_json(piece.faults);
  return json;
}

std::string piece_json_text(const draft::Piece& piece) { return piece_json(piece).dump() + "\n"; }

}  // namespace chalkfold::output
