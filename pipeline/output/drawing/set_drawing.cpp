// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/drawing/set_drawing.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include "pipeline/common/check_option.h"
#include "pipeline/output/drawing/dxf_groups.h"
#include "pipeline/output/drawing/piece_dxf.h"
#include "pipeline/output/drawing/piece_svg.h"

namespace chalkfold::output {

namespace {
constexpr double wider_than_high = 1.33;          // of the whole, about what a screen is
constexpr std::size_t block_name_words_max = 24;  // leaves room for number and ending in the 31 of release 12

/// Rows are broken at this width when none is given.
double width_for(const std::vector<SetPlace>& places, double gap) {
  double area = 0;
  for (const SetPlace& place : places) area += (place.box.size().x() + gap) * (place.box.size().y() + gap);
  return std::sqrt(wider_than_high * area);
}

draft::Piece copy_of(const std::vector<draft::Piece>& pieces, const SetPlace& place,
                     const PieceDrawingOptions& options) {
  const draft::Piece shown = shown_piece(pieces[place.piece], options.face);
  return place.mirrored ? draft::mirror_image(shown) : shown;
}

void add_shifted(Drawing& whole, Drawing part, const Vec2& shift) {
  for (Drawing::Line& line : part.lines) {
    for (Vec2& p : line.points) p += shift;
    whole.lines.push_back(std::move(line));
  }
  for (Drawing::Spot& spot : part.spots) {
    spot.at += shift;
    whole.spots.push_back(spot);
  }
}

geometry::Box box_of(const std::vector<SetPlace>& places) {
  geometry::Box box;
  for (const SetPlace& place : places) {
    box.add(place.box.min);
    box.add(place.box.max);
  }
  if (places.empty()) box = {Vec2::Zero(), Vec2::Zero()};
  return box;
}

std::string block_name(const draft::Piece& piece, std::size_t index, bool mirrored) {
  const std::string words = dxf_block_name(piece.name).substr(0, block_name_words_max);
  return fmt::format("{}-{}{}", index + 1, words, mirrored ? "-M" : "");
}
}  // namespace

void check(const SetOptions& o) {
  check_option("gap between the pieces of the set, mm,", o.gap, 0, 10000);
  check_option("width of the set's rows, mm,", o.row_width, 0, 1e6);
}

std::vector<SetPlace> set_places(const std::vector<draft::Piece>& pieces, const SetOptions& options) {
  check(options);
  std::vector<SetPlace> places;
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    piece_origin(pieces[i]);  // refuses a piece without a cut line
    const Vec2 size = geometry::bounding_box(pieces[i].cut_line).size();
    for (int copy = 1; copy <= pieces[i].quantity; ++copy) {
      const bool mirrored = pieces[i].one_mirrored && copy > 1 && copy == pieces[i].quantity;
      places.push_back({i, mirrored, Vec2::Zero(), {Vec2::Zero(), size}});
    }
  }
  std::stable_sort(places.begin(), places.end(),
                   [](const SetPlace& a, const SetPlace& b) { return a.box.size().y() > b.box.size().y(); });
  const double width = options.row_width > 0 ? options.row_width : width_for(places, options.gap);
  Vec2 at = Vec2::Zero();
  double row_height = 0;
  for (SetPlace& place : places) {
    const Vec2 size = place.box.size();
    if (at.x() > 0 && at.x() + size.x() > width) {
      at = {0, at.y() + row_height + options.gap};
      row_height = 0;
    }
    place.at = at;
    place.box = {at, at + size};
    at.x() += size.x() + options.gap;
    row_height = std::max(row_height, size.y());
  }
  return places;
}

Drawing set_drawing(const std::vector<draft::Piece>& pieces, const SetOptions& options) {
  const std::vector<SetPlace> places = set_places(pieces, options);
  Drawing whole;
  whole.name = "set";
  whole.box = box_of(places);
  for (const SetPlace& place : places) {
    const draft::Piece copy = copy_of(pieces, place, options.drawing);
    add_shifted(whole, pen_drawing_of(copy, {false, options.drawing.sew_line}), place.at);
  }
  for (const draft::Piece& piece : pieces) {
    whole.remarks.push_back(
        fmt::format("{}: cut {}{}", piece.name, piece.quantity, piece.one_mirrored ? ", one mirrored" : ""));
  }
  return whole;
}

std::string set_svg(const std::vector<draft::Piece>& pieces, const SetOptions& options) {
  return svg_of(set_drawing(pieces, options));
}

std::string set_dxf(const std::vector<draft::Piece>& pieces, const SetOptions& options) {
  const std::vector<SetPlace> places = set_places(pieces, options);
  std::map<std::pair<std::size_t, bool>, std::size_t> block_of;
  std::vector<Drawing> blocks;
  std::vector<std::string> names;
  for (const SetPlace& place : places) {
    if (!block_of.emplace(std::pair(place.piece, place.mirrored), blocks.size()).second) continue;
    const draft::Piece copy = copy_of(pieces, place, options.drawing);
    Drawing drawing = drawing_of(copy, {false, options.drawing.sew_line});
    if (place.mirrored) drawing.remarks.emplace_back("Annotation: mirror image");
    blocks.push_back(with_remarks(std::move(drawing)));
    names.push_back(block_name(copy, place.piece, place.mirrored));
  }
  DxfGroups out;
  begin_dxf(out, box_of(places), exchange_layers(blocks));
  for (std::size_t i = 0; i < blocks.size(); ++i) {
    begin_dxf_block(out, names[i]);
    add_dxf_drawing(out, blocks[i]);
    end_dxf_block(out);
  }
  begin_dxf_entities(out);
  for (const SetPlace& place : places) {
    add_dxf_insert(out, names[block_of.at({place.piece, place.mirrored})], place.at);
  }
  return finish_dxf(out);
}

}  // namespace chalkfold::output
