// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/reference/reference_file.h"

#include <fmt/format.h>

#include <filesystem>
#include <regex>

#include "pipeline/common/error.h"
#include "pipeline/common/utf8.h"
#include "pipeline/output/json/json_place.h"
#include "pipeline/output/json/json_values.h"
#include "pipeline/output/json/panel_json.h"
#include "pipeline/output/json/piece_json.h"
#include "pipeline/output/json/read_panel_json.h"
#include "pipeline/output/reference/read_outline.h"

namespace chalkfold::output {

namespace {
constexpr double least_side = 10, largest_side = 10000;  // mm

[[noreturn]] void fail(const std::string& where, const std::string& what) {
  throw FileError(fmt::format("{}: {}", where, what));
}

draft::ComparedShape shape_of_json(std::string_view bytes, const std::string& where, draft::PieceLine line) {
  const nlohmann::json json = parsed_json(bytes, where);
  const std::string schema = json.is_object() && json.contains("schema") && json["schema"].is_string()
                                 ? json["schema"].get<std::string>()
                                 : "";
  if (schema == panel_schema) {
    const PanelRecord record = read_panel_json(bytes, where);
    if (has_refusal(record.panel.faults))
      fail(where, "this panel was refused when it was measured; photograph it again");
    return draft::compared_panel(record.panel);
  }
  if (schema == piece_schema) {
    const draft::Piece piece = read_piece(json, where);
    if (has_refusal(piece.faults)) fail(where, "this piece was refused when it was drafted; see its faults");
    return draft::compared_piece(piece, line);
  }
  fail(where,
       "this JSON is neither a measured panel nor a piece; name measured/NAME.json or pieces/NAME.json of a run");
}

void check_extent(const Polyline& outline, const std::string& where) {
  const Vec2 size = geometry::bounding_box(outline).size();
  if (size.minCoeff() >= least_side && size.maxCoeff() <= largest_side) return;
  fail(where, fmt::format("its outline is {:.1f} x {:.1f} mm, which is no panel; is the unit of the drawing right?",
                          size.x(), size.y()));
}
}  // namespace

ReadShape read_shape(std::string_view bytes, const std::string& where, draft::PieceLine line) {
  const std::size_t first = bytes.find_first_not_of(" \t\r\n\xEF\xBB\xBF");
  if (first == std::string_view::npos) fail(where, "the file is empty; export or copy it again");
  const std::string name = plain_text(std::filesystem::path(where).stem().string());
  ReadShape read;
  if (bytes[first] == '{') {
    read.shape = shape_of_json(bytes, where, line);
  } else {
    const bool svg = bytes[first] == '<';
    if (!svg && bytes[first] != '0' && bytes[first] != '9' && !bytes.starts_with("AutoCAD Binary DXF"))
      fail(where,
           "this is no measured panel, piece, DXF or SVG; name one of these, or a size like 600x450 in millimetres");
    ForeignOutline outline = svg ? read_svg_outline(bytes, where) : read_dxf_outline(bytes, where);
    read.remark = outline.remark;
    check_extent(outline.outline, where);
    read.shape = draft::compared_line(std::move(outline.outline), name, svg ? "SVG outline" : "DXF outline");
  }
  check_extent(read.shape.outline.points, where);
  return read;
}

draft::DimensionalChange compared_with(const Reference& reference, const draft::ComparedShape& measured,
                                       const draft::ChangeOptions& options) {
  try {
    return std::visit([&](const auto& known) { return draft::dimensional_change(known, measured, options); },
                      reference);
  } catch (const UserError&) {
    throw;
  } catch (const std::exception& e) {
    draft::DimensionalChange failed;
    if (const auto* shape = std::get_if<draft::ComparedShape>(&reference)) {
      failed.reference = shape->name;
      failed.reference_kind = shape->kind;
    }
    failed.measured = measured.name;
    failed.measured_kind = measured.kind;
    failed.faults.push_back({"comparison-failed",
                             Severity::refusal,
                             fmt::format("the two could not be compared ({})", plain_text(e.what())),
                             "Look at both outlines: one that crosses itself or has a tail cannot be compared.",
                             {},
                             measured.name});
    return failed;
  }
}

draft::NominalSize checked_size(double length, double width) {
  for (const double side : {length, width})
    if (!(side >= least_side && side <= largest_side))
      throw UsageError(fmt::format("the size {:g} x {:g} mm: both must be from {:g} to {:g} mm", length, width,
                                   least_side, largest_side));
  return {length, width};
}

std::optional<draft::NominalSize> parse_size(const std::string& text) {
  static const std::regex form(R"(\s*([0-9]+(?:\.[0-9]+)?)\s*[xX]\s*([0-9]+(?:\.[0-9]+)?)\s*(?:mm)?\s*)");
  std::smatch found;
  if (text.size() > 40 || !std::regex_match(text, found, form)) return std::nullopt;
  return checked_size(std::stod(found[1]), std::stod(found[2]));
}

}  // namespace chalkfold::output
