// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/words/summary.h"

#include <fmt/format.h>

#include <algorithm>

#include "pipeline/common/utf8.h"

namespace chalkfold::output {

namespace {
std::string panel_line(const PanelRecord& record, std::size_t name_width) {
  const panel::Panel& panel = record.panel;
  const std::string name = plain_text(panel.name);
  // fmt pads by code points only when it knows the text to be UTF-8; count ourselves.
  const std::string pad(name_width - code_points(name).size(), ' ');
  if (!is_measured(record)) return fmt::format("  {}{}  refused, see below\n", name, pad);
  const std::string usable = panel::is_material(panel)
                                 ? fmt::format("   {}, {}", panel::to_string(panel.kind), usable_text(panel))
                                 : std::string();
  return fmt::format("  {}{}  {}   area {}   U {:.2f} mm (worst {:.2f}){}\n", name, pad, size_text(panel),
                     area_text(panel), panel.U_median, panel.U_max, usable);
}

std::string fault_lines(const Fault& fault) {
  const char* word = fault.severity == Severity::refusal   ? "REFUSED"
                     : fault.severity == Severity::warning ? "warning"
                                                           : "note";
  std::string out = fmt::format("{}: {}: {}\n", word, subject_text(fault), plain_text(fault.seen));
  if (!fault.remedy.empty()) out += fmt::format("    what to do: {}\n", plain_text(fault.remedy));
  return out;
}
}  // namespace

std::string size_text(const panel::Panel& panel) {
  return fmt::format("{:.1f} x {:.1f} mm", panel.extent.x(), panel.extent.y());
}

std::string area_text(const panel::Panel& panel) { return fmt::format("{:.1f} cm2", panel.area / 100); }

std::string usable_text(const panel::Panel& panel) {
  const auto counted = [](std::size_t n, const char* what) {
    return fmt::format("{} {}{}", n, what, n == 1 ? "" : "s");
  };
  return fmt::format("usable {:.4f} m2 ({} and {} taken off), U at the most {:.4f} m2",
                     panel::usable_area(panel) / draft::mm2_per_m2, counted(panel.flaws.size(), "flaw"),
                     counted(panel.cutouts.size(), "hole"), panel::usable_area_U(panel) / draft::mm2_per_m2);
}

std::string subject_text(const Fault& fault) {
  if (!fault.panel.empty()) return "panel " + plain_text(fault.panel);
  if (!fault.photo.empty()) return "photo " + plain_text(fault.photo);
  return "this run";
}

std::string summary_text(const Results& results, const std::string& report) {
  std::size_t name_width = 0;
  for (const PanelRecord& record : results.panels) {
    name_width = std::max(name_width, code_points(plain_text(record.panel.name)).size());
  }
  const auto measured = std::count_if(results.panels.begin(), results.panels.end(), is_measured);
  std::string out = fmt::format("{} panel{} measured ", measured, measured == 1 ? "" : "s");
  out += results.photos.empty()
             ? "before\n"
             : fmt::format("in {} photo{}\n", results.photos.size(), results.photos.size() == 1 ? "" : "s");
  for (const PanelRecord& record : results.panels) out += panel_line(record, name_width);
  const auto drafted = std::count_if(results.pieces.begin(), results.pieces.end(),
                                     [](const PieceRecord& r) { return !r.files.empty(); });
  if (!results.pieces.empty()) out += fmt::format("{} piece{} drafted\n", drafted, drafted == 1 ? "" : "s");
  Faults faults = all_faults(results);
  std::stable_sort(faults.begin(), faults.end(),
                   [](const Fault& a, const Fault& b) { return a.severity > b.severity; });
  if (!faults.empty()) out += "\n";
  for (const Fault& fault : faults) out += fault_lines(fault);
  return out + fmt::format("\nopen {}\n", plain_text(report));
}

}  // namespace chalkfold::output
