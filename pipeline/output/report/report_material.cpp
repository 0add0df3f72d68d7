// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/report/report_material.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "pipeline/output/drawing/escape.h"
#include "pipeline/output/report/report_faults.h"

namespace chalkfold::output {
namespace {

constexpr double order_step = 100;  // mm: rolls are sold by the tenth of a metre; common practice, no source

std::string area_text(double mm2) { return fmt::format("{:.3f} m2", mm2 / draft::mm2_per_m2); }

std::string areas_html(const draft::MaterialNeed& need, const Results& results) {
  std::string out =
      "<div class=\"scroll\"><table>\n<tr><th>Piece</th><th class=\"n\">Copies</th><th class=\"n\">Net, cm2</th><th "
      "class=\"n\">With allowance, cm2</th></tr>\n";
  int copies = 0;
  for (const draft::PieceArea& area : need.pieces) {
    const draft::Piece& piece = results.pieces.at(area.piece).piece;
    copies += area.copies;
    out += fmt::format(
        "<tr><td>{}. {}</td><td class=\"n\">{}{}</td><td class=\"n\">{:.1f}</td><td class=\"n\">{:.1f}</td></tr>\n",
        piece.number, markup_text(piece.name), area.copies, piece.one_mirrored ? ", one mirrored" : "", area.net / 100,
        area.cut / 100);
  }
  return out + fmt::format(
                   "<tr><th>All copies</th><th class=\"n\">{}</th><th class=\"n\">{:.1f}</th><th "
                   "class=\"n\">{:.1f}</th></tr>\n</table></div>\n",
                   copies, need.net_area / 100, need.cut_area / 100);
}

std::string lie_text(const draft::MaterialOptions& options) {
  if (!options.kind || *options.kind == draft::MaterialKind::artificial_leather)
    return "grain along the roll, either way, never askew";
  if (*options.kind != draft::MaterialKind::woven) return "any way, tried in quarter turns";
  return options.either_way ? "grain along the roll, either way"
                            : "grain along the roll, arrow heads to the roll's end";
}

std::string roll_html(const draft::MaterialNeed& need) {
  if (!(need.roll_length > 0)) return "<dt>Roll</dt><dd>no piece could be laid</dd>\n";
  const auto left_out =
      std::count_if(need.copies.begin(), need.copies.end(), [](const draft::LaidCopy& c) { return !c.place.placed; });
  std::string out =
      fmt::format("<dt>Roll</dt><dd><b>{:.2f} m</b> ({:.0f} mm), {:.0f} mm usable of {:.0f} mm width{}</dd>\n",
                  std::ceil(need.roll_length / order_step - 1e-9) * order_step / 1000, need.roll_length,
                  draft::usable_width(need.options), need.options.roll_width,
                  left_out > 0 ? ", without the pieces that do not fit" : "");
  if (need.hides) out += "<dt></dt><dd>as if it came by the roll, to compare; a hide has a shape of its own</dd>\n";
  return out + fmt::format("<dt>Laid</dt><dd>{}, {:g} mm apart; {:.0f} % of the roll is pieces</dd>\n",
                           lie_text(need.options), need.options.gap, 100 * need.roll_share);
}

std::string hides_html(const draft::MaterialNeed& need) {
  if (!need.hides) return "";
  return fmt::format(
      "<dt>Hides</dt><dd><b>{} of {:g} m2</b>: {:.2f} m2 ({:.1f} ft2) of hide, of which {:.0f} % are taken to end up "
      "in "
      "pieces (common practice, no source; two front seats take about one hide of 5.5 m2)</dd>\n",
      need.hides->hides, need.options.hide_area / draft::mm2_per_m2, need.hides->area / draft::mm2_per_m2,
      need.hides->area / draft::mm2_per_ft2, 100 * need.options.usable_fraction);
}

/// Nothing is laid: a hide has a shape of its own.
std::string measured_html(const MaterialRecord& record, const Results& results) {
  if (record.measured.empty()) return "";
  const MeasuredStock stock = measured_stock(record, results);
  std::string names;
  for (const std::size_t i : record.measured) {
    const panel::Panel& panel = results.panels.at(i).panel;
    names += fmt::format("{}{} ({}, {})", names.empty() ? "" : ", ", markup_text(panel.name),
                         panel::to_string(panel.kind), area_text(panel::usable_area(panel)));
  }
  return fmt::format(
      "<dt>Measured to cut from</dt><dd>{}: <b>{} usable</b> (U at the most {}), flaws and holes taken off; the set "
      "takes {} at {:.0f} % usable: <b>{}</b> by area. This is no layout: whether the pieces go around the flaws and "
      "within the outline, nesting must show.</dd>\n",
      names, area_text(stock.usable), area_text(stock.usable_U), area_text(stock.needed),
      100 * record.need.options.usable_fraction,
      stock.usable >= stock.needed ? "enough" : fmt::format("{} too little", area_text(stock.needed - stock.usable)));
}

std::string need_html(const MaterialRecord& record, const Results& results) {
  const draft::MaterialNeed& need = record.need;
  std::string out = fmt::format("<article>\n<h3>{}{}</h3>\n", markup_text(need.material),
                                need.options.kind ? ", " + draft::to_string(*need.options.kind) : "");
  out += fmt::format("<dl><dt>Area</dt><dd>{} net, {} with allowance</dd>\n", area_text(need.net_area),
                     area_text(need.cut_area));
  out += hides_html(need) + measured_html(record, results) + roll_html(need) + "</dl>\n" + areas_html(need, results);
  if (!record.picture.empty())
    out += fmt::format("<a href=\"{0}\"><img src=\"{0}\" alt=\"the pieces laid on a roll of {1}\"></a>\n",
                       markup_link(record.picture), markup_text(need.material));
  return out + faults_html(need.faults) + "</article>\n";
}

}  // namespace

std::string material_html(const Results& results) {
  if (results.materials.empty()) return "";
  std::string out =
      "<h2>Material</h2>\n<p>Net is within the sew line, with allowance within the cut line; cut-outs are not taken "
      "off. "
      "The layouts are good ones, not the best: every one was checked for overlap, but a person may find a shorter "
      "one. "
      "Add what your material wants: pattern repeat, shrinkage, flaws.</p>\n";
  for (const MaterialRecord& record : results.materials) out += need_html(record, results);
  return out;
}

}  // namespace chalkfold::output
