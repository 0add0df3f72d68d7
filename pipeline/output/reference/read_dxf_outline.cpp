// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <functional>
#include <map>
#include <numbers>
#include <set>

#include "pipeline/common/error.h"
#include "pipeline/common/utf8.h"
#include "pipeline/geometry/curve.h"
#include "pipeline/geometry/vectors.h"
#include "pipeline/output/reference/read_outline.h"

namespace chalkfold::output {

namespace {
constexpr double degree = std::numbers::pi / 180;
constexpr double flat = 0.01;                // mm, that a polyline may leave an arc
constexpr double largest_number = 1e6;       // no coordinate of a pattern, in any unit
constexpr double largest_bulge = 1000;       // an arc that goes round but for 0.2 degrees
constexpr std::size_t most_inserts = 10000;  // a block that holds itself would never end
constexpr double reach = 0.05;               // mm, between ends that meet

struct Group {
  int code = 0;
  std::string_view value;
};

std::string_view trimmed(std::string_view text) {
  const std::size_t from = text.find_first_not_of(" \t\r");
  if (from == std::string_view::npos) return {};
  return text.substr(from, text.find_last_not_of(" \t\r") - from + 1);
}

[[noreturn]] void fail(const std::string& where, const std::string& what) {
  throw FileError(fmt::format("{}: {}", where, what));
}

std::vector<Group> groups_of(std::string_view bytes, const std::string& where) {
  constexpr std::string_view byte_order_mark = "\xEF\xBB\xBF";  // of UTF-8, as some editors write it
  if (bytes.starts_with(byte_order_mark)) bytes.remove_prefix(byte_order_mark.size());
  if (bytes.starts_with("AutoCAD Binary DXF"))
    fail(where, "this is a binary DXF; save it as ASCII DXF, release 12 or later");
  std::vector<Group> groups;
  for (std::size_t at = 0; at < bytes.size();) {
    std::string_view lines[2];
    for (std::string_view& line : lines) {
      const std::size_t end = std::min(bytes.find('\n', at), bytes.size());
      line = trimmed(bytes.substr(std::min(at, bytes.size()), end - std::min(at, bytes.size())));
      at = end + 1;
    }
    if (lines[0].empty() && lines[1].empty()) continue;
    Group group{0, lines[1]};
    const auto [end, error] = std::from_chars(lines[0].data(), lines[0].data() + lines[0].size(), group.code);
    if (error != std::errc() || end != lines[0].data() + lines[0].size())
      fail(where,
           fmt::format("this is no DXF: \"{}\" stands where a group code should", plain_text(lines[0].substr(0, 30))));
    groups.push_back(group);
  }
  if (groups.empty() || groups.back().code != 0 || groups.back().value != "EOF")
    fail(where, "the DXF does not end with EOF: it was cut short; copy or export it again");
  return groups;
}

/// One entity: its groups in order.
struct Entity {
  std::string_view type;
  std::vector<Group> groups;

  double number(int code, double otherwise, const std::string& where) const {
    for (const Group& g : groups)
      if (g.code == code) return number(g, where);
    return otherwise;
  }
  static double number(const Group& g, const std::string& where) {
    double value = 0;
    const char *first = g.value.data(), *last = first + g.value.size();
    if (first != last && *first == '+') ++first;
    const auto [end, error] = std::from_chars(first, last, value);
    if (error != std::errc() || end != last || !(std::abs(value) <= largest_number))
      fail(where, fmt::format("\"{}\" stands where a number up to a million should; export the DXF again",
                              plain_text(g.value)));
    return value;
  }
  std::string_view text(int code) const {
    for (const Group& g : groups)
      if (g.code == code) return g.value;
    return {};
  }
};

struct File {
  std::vector<Entity> entities;
  std::map<std::string_view, std::vector<Entity>> blocks;
  std::map<std::string_view, std::string_view> header;
};

File file_of(const std::vector<Group>& groups) {
  File file;
  std::string_view section, block, variable;
  std::vector<Entity>* into = nullptr;
  for (std::size_t i = 0; i < groups.size(); ++i) {
    const Group& g = groups[i];
    if (g.code == 0) {
      if (g.value == "SECTION" && i + 1 < groups.size()) section = groups[i + 1].value;
      into = section == "ENTITIES" ? &file.entities : section == "BLOCKS" ? &file.blocks[block] : nullptr;
      if (g.value == "SECTION" || g.value == "ENDSEC" || g.value == "EOF") into = nullptr;
      if (into) into->push_back({g.value, {}});
      continue;
    }
    if (section == "HEADER" && g.code == 9) variable = g.value;
    if (section == "HEADER" && g.code == 70) file.header[variable] = g.value;
    if (!into) continue;
    if (into->back().type == "BLOCK" && g.code == 2) {  // what follows belongs to it
      const Entity start = into->back();
      into->pop_back();  // it was put into the block before
      block = g.value;
      into = &file.blocks[block];
      into->push_back(start);
    }
    into->back().groups.push_back(g);
  }
  return file;
}

/// A vertex with the bulge of the stretch that starts there: the tangent of a quarter of the arc's angle, positive counter-clockwise.
struct Vertex {
  Vec2 at = Vec2::Zero();
  double bulge = 0;
};

void add_stretch(Polyline& line, const Vertex& from, const Vec2& to, double tolerance) {
  line.push_back(from.at);
  if (std::abs(from.bulge) < 1e-9 || std::abs(from.bulge) > largest_bulge || (to - from.at).norm() < 1e-9) return;
  geometry::CurveSegment arc;
  arc.kind = geometry::CurveSegment::Kind::arc;
  arc.from = from.at;
  arc.to = to;
  arc.counter_clockwise = from.bulge > 0;
  arc.centre =
      0.5 * (from.at + to) + (1 - from.bulge * from.bulge) / (4 * from.bulge) * geometry::left_of(to - from.at);
  const Polyline points = geometry::flattened({arc}, tolerance);
  line.insert(line.end(), points.begin() + 1, points.end() - 1);
}

Polyline through(const std::vector<Vertex>& vertices, bool closed, double tolerance) {
  Polyline line;
  for (std::size_t i = 0; i < vertices.size(); ++i) {
    if (i + 1 == vertices.size() && !closed)
      line.push_back(vertices[i].at);
    else
      add_stretch(line, vertices[i], vertices[(i + 1) % vertices.size()].at, tolerance);
  }
  return line;
}

/// Draws entities into lines, in the file's unit.
class Drawer {
 public:
  Drawer(const File& file, std::string where, double unit) : file_(file), where_(std::move(where)), unit_(unit) {}

  std::vector<FileLine> lines() {
    draw(file_.entities, [](const Vec2& p) { return p; }, 0, {});
    return std::move(lines_);
  }
  /// Curves that were passed over: names of entities.
  const std::set<std::string>& passed() const { return passed_; }

 private:
  using Place = std::function<Vec2(const Vec2&)>;
  static constexpr int deepest = 8;  // blocks inside blocks

  double number(const Entity& e, int code, double otherwise) const { return e.number(code, otherwise, where_); }
  Vec2 point(const Entity& e, int x) const { return {number(e, x, 0), number(e, x + 10, 0)}; }

  void draw(const std::vector<Entity>& entities, const Place& place, int depth, std::string_view layer_of_block) {
    for (std::size_t i = 0; i < entities.size(); ++i) {
      const Entity& e = entities[i];
      std::string_view layer = e.text(8);
      if (layer == "0" && !layer_of_block.empty()) layer = layer_of_block;
      if (e.type == "INSERT" && depth < deepest) insert(e, place, depth, layer);
      if (e.type == "POLYLINE") i = polyline(entities, i, place, layer);
      if (e.type == "LWPOLYLINE") light_polyline(e, place, layer);
      if (e.type == "LINE") add({point(e, 10), point(e, 11)}, false, e, place, layer, false);
      if (e.type == "ARC" || e.type == "CIRCLE") arc(e, place, layer);
      if (e.type == "SPLINE" || e.type == "ELLIPSE" || e.type == "REGION" || e.type == "HATCH")
        passed_.insert(std::string(e.type));
    }
  }

  /// Whether an entity's normal points down: x of its own frame then points the other way (the format's arbitrary axis rule).
  bool is_from_below(const Entity& e) const { return number(e, 230, 1) < 0; }

  /// `own_frame`: coordinates are in the entity's own frame.
  void add(Polyline line, bool closed, const Entity& e, const Place& place, std::string_view layer, bool own_frame) {
    const bool from_below = own_frame && is_from_below(e);
    for (Vec2& p : line) {
      if (from_below) p.x() = -p.x();
      p = unit_ * place(p);
    }
    lines_.push_back({std::move(line), closed, layer == "1"});
  }

  void insert(const Entity& e, const Place& place, int depth, std::string_view layer) {
    const auto block = file_.blocks.find(e.text(2));
    if (block == file_.blocks.end() || ++inserts_ > most_inserts) return;
    const Entity* start = nullptr;
    for (const Entity& inner : block->second)
      if (inner.type == "BLOCK") start = &inner;
    const Vec2 base = start ? point(*start, 10) : Vec2::Zero(), at = point(e, 10),
               scale(number(e, 41, 1), number(e, 42, 1)), x = geometry::unit(number(e, 50, 0) * degree);
    draw(
        block->second,
        [=, from_below = is_from_below(e)](const Vec2& p) {
          const Vec2 own = (p - base).cwiseProduct(scale), inserted = at + own.x() * x + own.y() * geometry::left_of(x);
          return place(from_below ? Vec2(-inserted.x(), inserted.y()) : inserted);
        },
        depth + 1, layer);
  }

  std::size_t polyline(const std::vector<Entity>& entities, std::size_t i, const Place& place, std::string_view layer) {
    constexpr int closed_flag = 1, frame_point = 16;  // frame points steer a fitted curve and do not lie on it
    const Entity& head = entities[i];
    const bool closed = static_cast<int>(number(head, 70, 0)) & closed_flag;
    std::vector<Vertex> vertices;
    for (++i; i < entities.size() && entities[i].type == "VERTEX"; ++i)
      if (!(static_cast<int>(number(entities[i], 70, 0)) & frame_point))
        vertices.push_back({point(entities[i], 10), number(entities[i], 42, 0)});
    if (vertices.size() > 1) add(through(vertices, closed, flat / unit_), closed, head, place, layer, true);
    return i < entities.size() && entities[i].type == "SEQEND" ? i : i - 1;
  }

  void light_polyline(const Entity& e, const Place& place, std::string_view layer) {
    const bool closed = static_cast<int>(number(e, 70, 0)) & 1;
    std::vector<Vertex> vertices;
    for (const Group& g : e.groups) {
      if (g.code == 10) vertices.push_back({{Entity::number(g, where_), 0}, 0});
      if (vertices.empty()) continue;
      if (g.code == 20) vertices.back().at.y() = Entity::number(g, where_);
      if (g.code == 42) vertices.back().bulge = Entity::number(g, where_);
    }
    if (vertices.size() > 1) add(through(vertices, closed, flat / unit_), closed, e, place, layer, true);
  }

  void arc(const Entity& e, const Place& place, std::string_view layer) {
    const bool whole = e.type == "CIRCLE";
    const double radius = number(e, 40, 0), from = whole ? 0 : number(e, 50, 0) * degree;
    double turn = whole ? 2 * std::numbers::pi : std::fmod(number(e, 51, 0) * degree - from, 2 * std::numbers::pi);
    if (turn <= 0) turn += 2 * std::numbers::pi;
    if (!(radius > 0)) return;
    const double step = 2 * std::acos(std::max(0.0, 1 - flat / unit_ / radius));
    const int parts = std::max(2, static_cast<int>(std::min(1e5, std::ceil(turn / step))));
    Polyline line;
    for (int k = 0; k <= parts; ++k) line.push_back(point(e, 10) + radius * geometry::unit(from + turn * k / parts));
    if (whole) line.pop_back();
    add(line, whole, e, place, layer, true);
  }

  const File& file_;
  std::string where_;
  double unit_;
  std::size_t inserts_ = 0;
  std::vector<FileLine> lines_;
  std::set<std::string> passed_;
};

/// mm; sets the remark when it is an assumption.
double unit_of(const File& file, const std::string& where, std::string& remark) {
  const auto value = [&](const char* name) -> std::string_view {
    const auto found = file.header.find(name);
    return found == file.header.end() ? std::string_view() : found->second;
  };
  const std::map<std::string_view, double> known{{"1", 25.4}, {"2", 304.8}, {"4", 1},
                                                 {"5", 10},   {"6", 1000},  {"14", 100}};
  const std::string_view units = value("$INSUNITS"), measurement = value("$MEASUREMENT");
  if (const auto found = known.find(units); found != known.end()) return found->second;
  if (!units.empty() && units != "0")
    fail(where,
         fmt::format("its unit ($INSUNITS {}) is none that patterns are drawn in; export it in mm", plain_text(units)));
  remark = measurement == "0" ? "the DXF gives no unit but says imperial; inches were taken"
                              : "the DXF gives no unit; millimetres were taken";
  if (measurement == "1") remark.clear();
  return measurement == "0" ? 25.4 : 1;
}
}  // namespace

ForeignOutline read_dxf_outline(std::string_view bytes, const std::string& where) {
  const std::vector<Group> groups = groups_of(bytes, where);
  const File file = file_of(groups);
  ForeignOutline out;
  Drawer drawer(file, where, unit_of(file, where, out.remark));
  out.outline = largest_closed(drawer.lines(), reach);
  std::string passed;
  for (const std::string& type : drawer.passed()) passed += (passed.empty() ? "" : ", ") + type;
  if (out.outline.empty())
    fail(where, passed.empty()
                    ? std::string("there is no closed outline in it; draw the piece's boundary closed, on layer 1")
                    : fmt::format("there is no closed outline of polylines, lines and arcs in it; it has {}: explode "
                                  "them into polylines and export again",
                                  passed));
  if (!passed.empty()) out.remark += fmt::format("{}{} in the DXF passed over", out.remark.empty() ? "" : "; ", passed);
  return out;
}

}  // namespace chalkfold::output
