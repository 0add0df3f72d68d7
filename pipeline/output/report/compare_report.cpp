// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/report/compare_report.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "pipeline/common/utf8.h"
#include "pipeline/common/version.h"
#include "pipeline/output/drawing/escape.h"
#include "pipeline/output/report/report_style.h"
#include "pipeline/output/words/summary.h"

namespace chalkfold::output {

namespace {
constexpr double degree = std::numbers::pi / 180;

/// Two decimals with a sign, without a minus before zero.
std::string signed_text(double value) { return fmt::format("{:+.2f}", std::round(100 * value) / 100 + 0.0); }

std::string signed_percent(const draft::PercentChange& change) {
  return fmt::format("{} % (U {:.2f})", signed_text(change.percent), change.U);
}

/// What a trimmer does with the figure.
std::string verdict(const draft::LengthChange& extent, const draft::PercentChange& change) {
  if (std::abs(change.percent) <= change.U) return "no change beyond U";
  const double cut = draft::compensated_length(extent.after, change.percent);
  return fmt::format("{} by {:.1f} mm; to come out at {:.1f} mm cut {:.1f} mm",
                     change.percent < 0 ? "shrunk" : "stretched", std::abs(extent.after - cut), extent.after, cut);
}

std::string direction_text(const draft::DimensionalChange& change) {
  return fmt::format("{:.1f} deg counter-clockwise from the drawing's right ({})",
                     std::atan2(change.direction.y(), change.direction.x()) / degree,
                     draft::to_string(change.direction_from));
}

std::string fault_text(const Fault& fault) {
  const char* word = fault.severity == Severity::refusal   ? "REFUSED"
                     : fault.severity == Severity::warning ? "warning"
                                                           : "note";
  return fmt::format("{}: {}\n    what to do: {}\n", word, plain_text(fault.seen), plain_text(fault.remedy));
}

std::string edges_text(const draft::DimensionalChange& change) {
  if (change.edges.empty()) return "";
  std::string out = "\n  edge   before mm    after mm    change %       U   to the grain, deg\n";
  for (const draft::EdgeChange& e : change.edges)
    out += fmt::format("  {:4d} {:11.1f} {:11.1f} {:>11} {:7.2f} {:10.0f}\n", e.number, e.length.before, e.length.after,
                       signed_text(e.length.change.percent), e.length.change.U, e.grain_deg);
  return out;
}

std::string distances_text(const draft::DimensionalChange& change) {
  if (change.distances.empty()) return "";
  std::string out = "\n  between         before mm    after mm    change %       U   to the grain, deg\n";
  for (const draft::MarkDistance& d : change.distances)
    out += fmt::format("  {:14} {:10.1f} {:11.1f} {:>11} {:7.2f} {:10.0f}\n", d.what, d.length.before, d.length.after,
                       signed_text(d.length.change.percent), d.length.change.U, d.grain_deg);
  return out;
}

std::string row_html(const std::string& what, const draft::LengthChange& extent, const draft::PercentChange& change,
                     const std::string& words) {
  return fmt::format(
      "<tr><td>{}</td><td class=\"n\">{:.1f}</td><td class=\"n\">{:.1f}</td><td class=\"n\">{}</td><td "
      "class=\"n\">{:.2f}</td><td>{}</td></tr>\n",
      what, extent.before, extent.after, signed_text(change.percent), change.U, words);
}

std::string fault_html(const Fault& fault) {
  return fmt::format("<div class=\"fault {}\"><b>{}</b> {}<br><b>What to do:</b> {}</div>\n", to_string(fault.severity),
                     fault.severity == Severity::refusal ? "refused" : to_string(fault.severity),
                     markup_text(fault.seen), markup_text(fault.remedy));
}
}  // namespace

std::string compare_text(const draft::DimensionalChange& change) {
  std::string out = fmt::format("{} ({}) against {} ({})\n", plain_text(change.measured), change.measured_kind,
                                plain_text(change.reference), change.reference_kind);
  if (change.reference_mirrored) out += "  the reference shows the other side and was mirrored\n";
  if (change.done) {
    out += fmt::format("  along the grain: {}\n", direction_text(change));
    out += "  change = (after - before) / before x 100 (ISO 5077): minus is shrinkage\n\n";
    out +=
        fmt::format("  along   {:22}  {}\n", signed_percent(change.along), verdict(change.extent_along, change.along));
    out += fmt::format("  across  {:22}  {}\n", signed_percent(change.across),
                       verdict(change.extent_across, change.across));
    if (change.by_outline) {
      out += fmt::format("  shear   {} deg (U {:.2f})\n", signed_text(change.shear_deg), change.shear_U_deg);
      out += fmt::format("  outlines differ by {:.2f} mm rms as laid, by {:.2f} mm after this change\n",
                         change.rigid_rms, change.left_rms);
    }
    out += edges_text(change) + distances_text(change);
  }
  Faults faults = change.faults;
  std::stable_sort(faults.begin(), faults.end(),
                   [](const Fault& a, const Fault& b) { return a.severity > b.severity; });
  if (!faults.empty()) out += "\n";
  for (const Fault& fault : faults) out += fault_text(fault);
  return out;
}

std::string change_table_html(const draft::DimensionalChange& change) {
  std::string out;
  if (change.done) {
    out += fmt::format("<p>Dimensional change against {} ({}), along the grain: {}. Minus is shrinkage.</p>\n",
                       markup_text(change.reference), markup_text(change.reference_kind),
                       markup_text(direction_text(change)));
    out +=
        "<div class=\"scroll\"><table>\n<tr><th></th><th class=\"n\">Before, mm</th><th class=\"n\">After, mm</th><th "
        "class=\"n\">Change, %</th><th class=\"n\">U, %</th><th></th></tr>\n";
    out += row_html("along the grain", change.extent_along, change.along, verdict(change.extent_along, change.along));
    out += row_html("across", change.extent_across, change.across, verdict(change.extent_across, change.across));
    for (const draft::EdgeChange& e : change.edges)
      out += row_html(fmt::format("edge {}", e.number), e.length, e.length.change,
                      fmt::format("{:.0f}&deg; to the grain", e.grain_deg));
    for (const draft::MarkDistance& d : change.distances)
      out += row_html("between " + (d.what == "given" ? std::string("given places") : d.what), d.length,
                      d.length.change, fmt::format("{:.0f}&deg; to the grain", d.grain_deg));
    out += "</table></div>\n";
    if (change.by_outline)
      out += fmt::format(
          "<p>Shear {}&deg; (U {:.2f}). Before and after along and across are the extents; the change is that of "
          "the whole outline. {:.2f} mm rms is left that it does not explain.</p>\n",
          signed_text(change.shear_deg), change.shear_U_deg, change.left_rms);
  }
  for (const Fault& fault : change.faults) out += fault_html(fault);
  return out;
}

std::string compare_html(const draft::DimensionalChange& change, const std::string& svg, const std::string& when) {
  std::string out = "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n";
  out += fmt::format(
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>Dimensional change of "
      "{}</title>\n<style>{}</style>\n</head>\n<body>\n<h1>Dimensional change of {}</h1>\n",
      markup_text(change.measured), report_style, markup_text(change.measured));
  out += change_table_html(change);
  if (!svg.empty())
    out +=
        fmt::format("<article><a href=\"{0}\"><img class=\"piece\" src=\"{0}\" alt=\"both outlines\"></a></article>\n",
                    markup_link(svg));
  return out + fmt::format(
                   "<footer>chalkfold {} &middot; {} &middot; every number is in <a "
                   "href=\"compare.json\">compare.json</a></footer>\n</body>\n</html>\n",
                   program_version(), markup_text(when));
}

}  // namespace chalkfold::output
