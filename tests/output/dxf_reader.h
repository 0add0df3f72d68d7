// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <string>
#include <vector>

#include "pipeline/geometry/curve.h"
#include "pipeline/geometry/polygon.h"

namespace chalkfold::test {

/// One entity of a DXF file: its group codes and values in order, and of a POLYLINE its vertices' too.
struct DxfEntity {
  /// block: its name, empty in the ENTITIES section
  std::string type, block;
  std::multimap<int, std::string> groups;
  std::vector<std::multimap<int, std::string>> vertices;
  std::string text(int code) const {
    const auto at = groups.find(code);
    return at == groups.end() ? "" : at->second;
  }
  double number(int code) const { return std::stod(text(code)); }
  Vec2 at() const { return {number(10), number(20)}; }
  Polyline points() const {
    Polyline points;
    for (const auto& v : vertices) points.emplace_back(std::stod(v.find(10)->second), std::stod(v.find(20)->second));
    return points;
  }
  double bulge(std::size_t i) const {
    const auto at = vertices[i].find(42);
    return at == vertices[i].end() ? 0 : std::stod(at->second);
  }
};

/// A reader that shares nothing with the writer: pairs of lines, as the format has them.
inline std::vector<DxfEntity> read_dxf_entities(const std::string& bytes) {
  std::vector<std::string> lines;
  for (std::size_t at = 0; at < bytes.size();) {
    const std::size_t end = bytes.find("\r\n", at);
    if (end == std::string::npos) throw std::logic_error("a line without its end");
    lines.push_back(bytes.substr(at, end - at));
    at = end + 2;
  }
  std::vector<DxfEntity> entities;
  std::string section, block;
  enum class Into { nothing, in_entity, in_vertex, in_block, in_section } into = Into::nothing;
  for (std::size_t i = 0; i + 1 < lines.size(); i += 2) {
    const int code = std::stoi(lines[i]);
    const std::string& value = lines[i + 1];
    if (code == 0) {
      into = Into::nothing;
      if (value == "SECTION") into = Into::in_section;
      if (section != "BLOCKS" && section != "ENTITIES") continue;
      if (value == "BLOCK") into = Into::in_block;
      if (value == "ENDBLK") block.clear();
      if (value == "VERTEX") {
        entities.back().vertices.emplace_back();
        into = Into::in_vertex;
      }
      for (const char* known : {"POLYLINE", "LINE", "POINT", "TEXT", "CIRCLE", "INSERT"}) {
        if (value == known) {
          entities.push_back({value, block, {}, {}});
          into = Into::in_entity;
        }
      }
      if (into == Into::nothing && value != "SEQEND" && value != "ENDBLK" && value != "ENDSEC" && value != "EOF") {
        throw std::logic_error("unlooked-for entity " + value);
      }
      continue;
    }
    if (into == Into::in_section && code == 2) section = value;
    if (into == Into::in_block && code == 2) block = value;
    if (into == Into::in_entity) entities.back().groups.emplace(code, value);
    if (into == Into::in_vertex) entities.back().vertices.back().emplace(code, value);
  }
  return entities;
}

inline std::vector<DxfEntity> on_layer(const std::vector<DxfEntity>& entities, const std::string& type,
                                       const std::string& layer) {
  std::vector<DxfEntity> found;
  std::copy_if(entities.begin(), entities.end(), std::back_inserter(found),
               [&](const DxfEntity& e) { return e.type == type && e.text(8) == layer; });
  return found;
}

/// Area inside a closed POLYLINE with its bulges, in closed form: the vertices' polygon and a circle's segment for each arc.
inline double area_of(const DxfEntity& polyline) {
  const Polyline points = polyline.points();
  double area = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const Vec2 &a = points[i], &b = points[(i + 1) % points.size()];
    area += 0.5 * (a.x() * b.y() - a.y() * b.x());
    const double turned = 4 * std::atan(polyline.bulge(i));
    if (turned == 0) continue;
    const double radius = 0.5 * (b - a).norm() / std::abs(std::sin(0.5 * turned));
    area += 0.5 * radius * radius * (turned - std::sin(turned));
  }
  return area;
}

}  // namespace chalkfold::test
