// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/report/report.h"

#include <fmt/chrono.h>
#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdlib>
#include <cstring>
#include <ctime>
#include <numbers>

#include "pipeline/common/version.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/output/drawing/escape.h"
#include "pipeline/output/report/compare_report.h"
#include "pipeline/output/report/report_faults.h"
#include "pipeline/output/report/report_material.h"
#include "pipeline/output/report/report_seams.h"
#include "pipeline/output/report/report_sewing.h"
#include "pipeline/output/report/report_style.h"
#include "pipeline/output/words/cautions.h"
#include "pipeline/output/words/summary.h"

namespace chalkfold::output {

namespace {
std::string counted(std::ptrdiff_t count, const char* what) {
  return fmt::format("{} {}{}", count, what, count == 1 ? "" : "s");
}

std::string head_html(const Results& results) {
  const auto measured = std::count_if(results.panels.begin(), results.panels.end(), is_measured);
  std::string out = "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n";
  out +=
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>Measured "
      "panels</title>\n<style>";
  out += std::string(report_style) + "</style>\n</head>\n<body>\n<header>\n<h1>Measured panels</h1>\n";
  const std::string from = results.photos.empty()
                               ? "before"
                               : "from " + counted(static_cast<std::ptrdiff_t>(results.photos.size()), "photo");
  out += fmt::format("<p class=\"lead\">{} measured {}. Lengths are in millimetres.</p>\n</header>\n",
                     counted(measured, "panel"), from);
  return out;
}

/// What the user must hear before any number: refusals, then what concerns the whole run.
std::string first_faults_html(const Results& results) {
  Faults first;
  for (const Fault& fault : all_faults(results)) {
    if (fault.severity == Severity::refusal) first.push_back(fault);
  }
  std::string out = first.empty() ? "" : "<h2>Refused</h2>\n" + faults_html(first);
  Faults rest;
  for (const Fault& fault : results.faults) {
    if (fault.severity != Severity::refusal) rest.push_back(fault);
  }
  if (!rest.empty()) out += "<h2>This run</h2>\n" + faults_html(rest);
  return out;
}

std::string overview_html(const Results& results) {
  if (results.panels.empty()) return "<p>No panel was measured.</p>\n";
  std::string out =
      "<h2>All panels</h2>\n<div class=\"scroll\"><table>\n<tr><th>Panel</th><th>Photo</th><th class=\"n\">Size</th>";
  out +=
      "<th class=\"n\">Area</th><th class=\"n\">Cut-outs</th><th class=\"n\">U median, mm</th><th class=\"n\">U "
      "worst, mm</th></tr>\n";
  for (const PanelRecord& record : results.panels) {
    const panel::Panel& panel = record.panel;
    out += fmt::format("<tr><td>{}</td><td>{}</td>", markup_text(panel.name), markup_text(panel.photo));
    if (is_measured(record)) {
      out += fmt::format(
          "<td class=\"n\">{}</td><td class=\"n\">{}</td><td class=\"n\">{}</td><td class=\"n\">{:.2f}</td><td "
          "class=\"n\">{:.2f}</td></tr>\n",
          size_text(panel), area_text(panel), panel.cutouts.size(), panel.U_median, panel.U_max);
    } else {
      out += "<td colspan=\"5\">refused</td></tr>\n";
    }
  }
  return out + "</table></div>\n";
}

std::string files_html(const PanelRecord& record) {
  std::string out;
  for (const std::string& file : record.files) {
    out += fmt::format("{}<a href=\"{}\">{}</a>", out.empty() ? "" : ", ", markup_link(file), markup_text(file));
  }
  return out;
}

std::string marks_text(const panel::Marks& m) {
  std::string out;
  const auto add = [&](std::size_t count, const char* one, const char* many) {
    if (count > 0) out += fmt::format("{}{} {}", out.empty() ? "" : ", ", count, count == 1 ? one : many);
  };
  add(m.matches.size(), "match mark", "match marks");
  add(m.centre ? 1 : 0, "centre line", "");
  add(m.grain ? 1 : 0, "grain line", "");
  add(m.notches.size(), "notch", "notches");
  add(m.holes.size(), "drill hole", "drill holes");
  for (const panel::Writing& w : m.writings) add(w.underside ? 1 : 0, "underside letter", "");
  add(m.writings.size(), "piece of writing", "pieces of writing");
  return out.empty() ? "none" : out;
}

/// What was read off the panel: counts, the old sew line, and what is written on it as pictures.
std::string marks_html(const PanelRecord& record) {
  const panel::Marks& m = record.panel.marks;
  std::string out = fmt::format("<dt>Marks read</dt><dd>{}</dd>\n", marks_text(m));
  if (m.grain) {
    const Vec2 d = m.grain->head - m.grain->tail;
    out += fmt::format("<dt>Grain</dt><dd>{:.1f}&deg; counter-clockwise from the picture's right{}</dd>\n",
                       std::atan2(d.y(), d.x()) * 180 / std::numbers::pi, m.grain->directed ? "" : ", either way");
  }
  for (const panel::NeedleRow& row : m.needle_rows) {
    out += fmt::format(
        "<dt>Needle row</dt><dd>{:.0f} mm long, a hole every {:.2f} mm, old allowance {:.1f} mm (&plusmn; {:.2f} "
        "mm)</dd>\n",
        geometry::length(row.points, false), row.pitch, row.allowance, row.allowance_spread);
  }
  if (!record.crops.empty()) out += "<dt>Written on it</dt><dd>";
  for (const CropRecord& crop : record.crops) {
    const std::string of =
        crop.of == CropRecord::Of::number ? fmt::format("beside match mark {}", crop.index + 1) : "writing";
    out += fmt::format("<img class=\"crop\" src=\"{}\" alt=\"{}\" title=\"{}\"> ", markup_link(crop.picture), of, of);
  }
  return record.crops.empty() ? out : out + "</dd>\n";
}

/// What is to be known of material to be cut from: how much of it can be used, and what not.
std::string material_numbers_html(const panel::Panel& panel) {
  std::string out = fmt::format("<dt>Usable</dt><dd><b>{}</b></dd>\n", usable_text(panel));
  if (!panel.face_up)
    out += "<dt>Side up</dt><dd>not said in the job (side): pieces laid on it must show the same side</dd>\n";
  else
    out += fmt::format("<dt>Side up</dt><dd>{}</dd>\n",
                       *panel.face_up ? "face: lay the pieces' face view on it (run with --face)"
                                      : "inside: lay the pieces' inside view on it (as drawn without --face)");
  if (panel.flaws.empty()) return out;
  const Vec2 origin = geometry::bounding_box(panel.outline.points).min;
  out += "<dt>Flaws</dt><dd>";
  for (std::size_t i = 0; i < panel.flaws.size(); ++i) {
    const panel::Flaw& flaw = panel.flaws[i];
    const Vec2 at = geometry::centroid(flaw.ring) - origin, size = geometry::bounding_box(flaw.ring).size();
    out += fmt::format("{}{}: {:.0f} x {:.0f} mm, {:.1f} cm2, at ({:.0f}, {:.0f}) mm from the lower left{}",
                       i == 0 ? "" : "<br>", i + 1, size.x(), size.y(), geometry::signed_area(flaw.ring) / 100, at.x(),
                       at.y(), flaw.gap > 0 ? fmt::format(", a break of {:.0f} mm closed", flaw.gap) : "");
  }
  return out + "</dd>\n";
}

std::string numbers_html(const PanelRecord& record) {
  const panel::Panel& panel = record.panel;
  std::string out = fmt::format(
      "<dl><dt>Size</dt><dd>{} (smallest rectangle around it)</dd>\n<dt>Area</dt><dd>{}</dd>\n"
      "<dt>Perimeter</dt><dd>{:.1f} mm</dd>\n",
      size_text(panel), area_text(panel), panel.perimeter);
  if (!panel.cutouts.empty()) out += fmt::format("<dt>Cut-outs</dt><dd>{}</dd>\n", panel.cutouts.size());
  out +=
      fmt::format("<dt>U</dt><dd>{:.2f} mm median, {:.2f} mm at the worst point</dd>\n", panel.U_median, panel.U_max);
  out += fmt::format("<dt>Thickness</dt><dd>{:.1f} mm taken, sigma {:.1f} mm</dd>\n", panel.thickness,
                     record.thickness_sigma);
  out += panel::is_material(panel) ? material_numbers_html(panel) : marks_html(record);
  out += fmt::format("<dt>Shown</dt><dd>as photographed in {}, not mirrored</dd>\n", markup_text(panel.photo));
  if (!record.files.empty()) out += fmt::format("<dt>Files</dt><dd>{}</dd>\n", files_html(record));
  return out + "</dl>\n";
}

/// What was said of a panel's photo short of refusing it: it bears on the panel's numbers, so it stands beside them too.
Faults faults_beside(const PanelRecord& record, const Results& results) {
  Faults out = record.panel.faults;
  const std::vector<std::string> names = photo_names(record);
  for (const PhotoRecord& photo : results.photos) {
    if (std::find(names.begin(), names.end(), photo.name) == names.end()) continue;
    for (const Fault& fault : photo.faults) {
      if (fault.severity == Severity::warning) out.push_back(fault);
    }
  }
  return out;
}

std::string panel_html(const PanelRecord& record, const Results& results) {
  const panel::Panel& panel = record.panel;
  std::string out = fmt::format("<article>\n<h3>{}</h3>\n<div class=\"panel\">\n", markup_text(panel.name));
  if (!record.picture.empty()) {
    out += fmt::format("<a href=\"{0}\"><img src=\"{0}\" alt=\"{1} with its measured outline\"></a>\n",
                       markup_link(record.picture), markup_text(panel.name));
  }
  out += "<div class=\"beside\">\n";
  if (is_measured(record)) out += numbers_html(record);
  out += faults_html(faults_beside(record, results)) + "</div>\n</div>\n";
  if (record.change) out += change_table_html(*record.change);
  if (!record.change_picture.empty())
    out += fmt::format("<a href=\"{0}\"><img class=\"piece\" src=\"{0}\" alt=\"dimensional change\"></a>\n",
                       markup_link(record.change_picture));
  return out + "</article>\n";
}

std::string edges_html(const draft::Piece& piece) {
  std::string out =
      "<div class=\"scroll\"><table>\n<tr><th class=\"n\">Edge</th><th class=\"n\">Sew line, mm</th><th class=\"n\">U, "
      "mm</th><th class=\"n\">Allowance, mm</th><th class=\"n\">Segments</th><th class=\"n\">Largest departure, "
      "mm</th></tr>\n";
  for (const draft::PieceEdge& edge : piece.edges)
    out += fmt::format(
        "<tr><td class=\"n\">{}</td><td class=\"n\">{:.1f}</td><td class=\"n\">{:.2f}</td><td class=\"n\">{:g}</td><td "
        "class=\"n\">{}</td><td class=\"n\">{:.2f}</td></tr>\n",
        edge.number, geometry::length(edge.sew), edge.U, edge.allowance, edge.sew.size(), edge.largest_departure);
  return out + "</table></div>\n";
}

std::string change_text(const draft::ShapeChange& change) {
  if (!change.done) return markup_text("left as measured: " + change.reason);
  return fmt::format("{}; points moved by {:.1f} mm rms, {:.1f} mm at the most", markup_text(change.reason), change.rms,
                     change.largest);
}

std::string piece_html(const PieceRecord& record) {
  const draft::Piece& piece = record.piece;
  std::string out =
      fmt::format("<article>\n<h3>{}. {}</h3>\n<div class=\"panel\">\n", piece.number, markup_text(piece.name));
  for (const std::string& file : record.files)
    if (file.ends_with(".svg"))
      out += fmt::format("<a href=\"{0}\"><img class=\"piece\" src=\"{0}\" alt=\"{1} as a piece\"></a>\n",
                         markup_link(file), markup_text(piece.name));
  out += "<div class=\"beside\">\n";
  if (!record.files.empty()) {
    out += fmt::format(
        "<dl><dt>Cut</dt><dd>{}{}, {} up</dd>\n<dt>Area</dt><dd>{:.1f} cm2 net, {:.1f} cm2 with allowance</dd>\n",
        piece.quantity, piece.one_mirrored ? ", one mirrored" : "",
        piece.side == draft::Side::inside ? "inside" : "face", geometry::signed_area(piece.sew_line) / 100,
        geometry::signed_area(piece.cut_line) / 100);
    const auto mirrored = std::count_if(piece.marks.begin(), piece.marks.end(), [](const draft::PieceMark& m) {
      return m.origin == draft::MarkOrigin::mirrored;
    });
    out += fmt::format(
        "<dt>Marks</dt><dd>{}{}</dd>\n", piece.marks.size(),
        mirrored > 0 ? fmt::format(", {} of them mirrored from the other half, where alone they were drawn", mirrored)
                     : "");
    out += fmt::format("<dt>Symmetry</dt><dd>{}</dd>\n", change_text(piece.symmetry));
    if (piece.pairing.done) out += fmt::format("<dt>Pair</dt><dd>{}</dd>\n", change_text(piece.pairing));
    std::string files;
    for (const std::string& file : record.files)
      files += fmt::format("{}<a href=\"{}\">{}</a>", files.empty() ? "" : ", ", markup_link(file), markup_text(file));
    out += fmt::format("<dt>Files</dt><dd>{}</dd></dl>\n", files) + edges_html(piece);
  }
  if (may_cover_airbag(piece))
    out += fmt::format("<div class=\"fault warning\"><b>caution</b> {}</div>\n", markup_text(airbag_caution()));
  out += faults_html(piece.faults) + "</div>\n</div>\n";
  if (!record.change_picture.empty())
    out += fmt::format(
        "<p>Where it had stretched: what was moved, from the measured outline (grey) to the piece (black).</p>\n<a "
        "href=\"{0}\"><img class=\"piece\" src=\"{0}\" alt=\"what was moved\"></a>\n",
        markup_link(record.change_picture));
  return out + "</article>\n";
}

std::string pieces_html(const Results& results) {
  if (results.pieces.empty()) return "";
  std::string out =
      "<h2>Piece by piece</h2>\n<p>Drafted from the panels: solid the cut line, inside it the sew line. Edges are "
      "numbered counter-clockwise; lengths are those of the sew line.</p>\n";
  for (const PieceRecord& record : results.pieces) out += piece_html(record);
  for (const std::string& file : results.set_files)
    out += fmt::format("{}<a href=\"{}\">{}</a>",
                       file == results.set_files.front() ? "<p>All pieces side by side: " : ", ", markup_link(file),
                       markup_text(file));
  return results.set_files.empty() ? out : out + "</p>\n";
}

std::string sheets_text(const PhotoRecord& photo) {
  std::string out;
  for (const SheetRecord& sheet : photo.sheets) out += fmt::format("{}{}", out.empty() ? "" : ", ", sheet.number);
  return out.empty() ? "none" : out;
}

std::string photo_row(const PhotoRecord& photo) {
  double blur_px = 0;
  for (const SheetRecord& sheet : photo.sheets) blur_px = std::max(blur_px, sheet.blur_px);
  std::string out = fmt::format("<tr><td>{}</td><td>{}</td><td>{}</td>", markup_text(photo.name),
                                markup_text(photo.model), sheets_text(photo));
  if (!photo.camera) return out + "<td colspan=\"6\">not used</td></tr>\n";
  const CameraRecord& c = *photo.camera;
  out += fmt::format(
      "<td class=\"n\">{} / {}</td><td class=\"n\">{:.2f}</td><td class=\"n\">{:.1f}</td><td "
      "class=\"n\">{:.0f}</td><td class=\"n\">{:.0f}</td><td class=\"n\">{:.3f}</td></tr>\n",
      c.corners_used, c.corners_dropped, c.reprojection_rms_px, blur_px, c.tilt_deg, c.height, c.mm_per_px);
  return out;
}

std::string photos_html(const Results& results) {
  std::string out =
      "<h2>Photos</h2>\n<div class=\"scroll\"><table>\n<tr><th>Photo</th><th>Phone</th><th>Sheets</th><th "
      "class=\"n\">Corners used / dropped</th>";
  out +=
      "<th class=\"n\">Residual, px</th><th class=\"n\">Blur, px</th><th class=\"n\">Tilt, deg</th><th "
      "class=\"n\">Height, mm</th><th class=\"n\">mm per px</th></tr>\n";
  Faults faults;  // refusals stand at the top of the page
  for (const PhotoRecord& photo : results.photos) {
    out += photo_row(photo);
    for (const Fault& fault : photo.faults) {
      if (fault.severity != Severity::refusal) faults.push_back(fault);
    }
  }
  out += "</table></div>\n" + faults_html(faults);
  out += fmt::format(
      "<p>Print scale of the sheets: {:.5f} across, {:.5f} along the page (1 is true), sigma {:.2f} %.</p>\n",
      results.print_scale_x, results.print_scale_y, 100 * results.print_scale_sigma);
  return out;
}

const char* const reading_html = R"html(<h2>How to read this</h2>
<p>These outlines are <strong>measured from photographs</strong>. Before you cut, lay a tape or a steel rule across the longest panel and compare.</p>
<p><strong>U</strong> is how far the true edge may lie from the drawn one, along the outline's normal, at 95 % (k = 2). It counts the edge finding, the lens, the sheets, the print and the thickness.</p>
<p><strong>Thickness:</strong> an outline is that of the panel's upper face. Seen from 1 m, a face that lies 5 mm higher than was said comes out 0.5 % too large: 3 mm on 600 mm. Measure thick panels and say so with --thickness-mm.</p>
<p><strong>Side:</strong> every panel is drawn as it lay, never mirrored. One photographed inside up is drawn inside up.</p>
<h2>Cautions</h2>
<ul>
<li>Knives, seam rippers, needles and hog-ring pliers cut and pinch: cut away from the hand, wear eye protection when rings are opened or closed.</li>
<li>Spray glue gives off fumes that harm and burn: air the room, keep flames and sparks away, wear the mask that the can asks for.</li>
<li>Leave seat belts, their anchors and their buckles as they are, and free of any cover.</li>
<li>A seat may hold an airbag. A cover over an airbag seam must follow the seat maker's instructions, material and thread, and be done by those licensed to do it; do not unplug or open anything near it.</li>
<li>Local codes on seats, fire behaviour and vehicle or vessel safety come first.</li>
</ul>
)html";
}  // namespace

std::string report_html(const Results& results, const std::string& when) {
  std::string out = head_html(results);
  out += first_faults_html(results);
  out += overview_html(results);
  if (!results.panels.empty()) out += "<h2>Panel by panel</h2>\n";
  for (const PanelRecord& record : results.panels) out += panel_html(record, results);
  out += pieces_html(results);
  out += seams_html(results) + material_html(results) + sewing_html(results);
  if (!results.photos.empty()) out += photos_html(results);
  out += reading_html;
  return out + fmt::format(
                   "<footer>chalkfold {} &middot; {} &middot; every number is in <a "
                   "href=\"results.json\">results.json</a></footer>\n</body>\n</html>\n",
                   program_version(), markup_text(when));
}

std::string footer_time() {
  std::time_t seconds = std::time(nullptr);
  if (const char* fixed = std::getenv("SOURCE_DATE_EPOCH")) {
    long long given = 0;
    const auto [end, error] = std::from_chars(fixed, fixed + std::strlen(fixed), given);
    if (error == std::errc() && *end == '\0') seconds = static_cast<std::time_t>(given);
  }
  return fmt::format("{:%Y-%m-%d %H:%M} UTC", fmt::gmtime(seconds));
}

}  // namespace chalkfold::output
