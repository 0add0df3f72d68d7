// SPDX-License-Identifier: Apache-2.0
#include "tests/accuracy/mark_table.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "demo/scenes/mark_materials.h"

namespace chalkfold::accuracy {

namespace {

double rms(const std::vector<double>& values) {
  double sum = 0;
  for (const double v : values) sum += v * v;
  return values.empty() ? 0 : std::sqrt(sum / static_cast<double>(values.size()));
}

double largest(const std::vector<double>& values) {
  double out = 0;
  for (const double v : values) out = std::max(out, std::abs(v));
  return out;
}

std::string match_line(const std::string& name, const std::vector<TrialResult>& trials) {
  // From contrast 3 on, nearly all match marks are to be found; below, misses are allowed, inventions are not.
  constexpr double clear_chalk = 3 - 1e-6;
  MarkScore all, clear;
  for (const TrialResult& t : trials) {
    all += t.score;
    if (t.contrast >= clear_chalk) clear += t.score;
  }
  return fmt::format("{:<16}{:>8}{:>7}{:>8.3f}{:>10.3f}{:>8.2f}{:>8.2f}{:>7}{:>8.3f}{:>10.3f}{:>8}\n", name,
                     trials.size(), all.match.truth, all.match.recall(), all.match.precision(), rms(all.match_errors),
                     largest(all.match_errors), clear.match.truth, clear.match.recall(), clear.match.precision(),
                     all.false_marks());
}

template <class Keep>
std::vector<TrialResult> some(const std::vector<TrialResult>& trials, Keep&& keep) {
  std::vector<TrialResult> out;
  std::copy_if(trials.begin(), trials.end(), std::back_inserter(out), keep);
  return out;
}

std::string match_tables(const std::vector<TrialResult>& trials) {
  std::string out =
      fmt::format("{:<16}{:>8}{:>7}{:>8}{:>10}{:>8}{:>8}{:>7}{:>8}{:>10}{:>8}\n", "match marks", "renders", "marks",
                  "recall", "precision", "rms mm", "max mm", "C >= 3", "recall", "precision", "false");
  for (const char* name : demo::mark_materials) {
    const auto part = some(trials, [&](const TrialResult& t) { return t.material == name; });
    if (!part.empty()) out += match_line(name, part);
  }
  out += match_line("all", trials) + "\n";
  constexpr std::array bounds = {0.0, 1.75, 2.5, 3.75, 6.0, 10.0, 1e9};
  for (std::size_t k = 0; k + 1 < bounds.size(); ++k) {
    const auto part =
        some(trials, [&](const TrialResult& t) { return t.contrast >= bounds[k] && t.contrast < bounds[k + 1]; });
    const std::string name = bounds[k + 1] > 1e6 ? fmt::format("C over {:g}", bounds[k])
                                                 : fmt::format("C {:g} to {:g}", bounds[k], bounds[k + 1]);
    if (!part.empty()) out += match_line(name, part);
  }
  return out +
         "C: the chalk's step in luminance over the material's own standard deviation, both over 2 mm.\n"
         "false: findings of any kind that are no mark.\n";
}

std::string kind_line(const char* name, const Tally& t, const std::string& remark) {
  return fmt::format("{:<16}{:>7}{:>7}{:>10}   {}\n", name, t.truth, t.found, t.invented, remark);
}

std::string kind_table(const MarkScore& s) {
  const double near = s.needle_holes > 0 ? static_cast<double>(s.needle_holes_near) / s.needle_holes : 1;
  return fmt::format("{:<16}{:>7}{:>7}{:>10}\n", "all kinds", "true", "found", "invented") +
         kind_line("match", s.match, fmt::format("in groups of the true size {}", s.groups_right)) +
         kind_line(
             "centre", s.centre,
             fmt::format("angle rms {:.2f} max {:.2f} deg, offset rms {:.2f} max {:.2f} mm", rms(s.centre_angle_deg),
                         largest(s.centre_angle_deg), rms(s.centre_offset), largest(s.centre_offset))) +
         kind_line(
             "grain", s.grain,
             fmt::format("angle rms {:.2f} max {:.2f} deg, reversed {}, heads miscounted {}", rms(s.grain_angle_deg),
                         largest(s.grain_angle_deg), s.grain_reversed, s.grain_heads_wrong)) +
         kind_line("underside", s.underside, "") + kind_line("writing", s.writing, "the underside letter included") +
         kind_line("notch", s.notch,
                   fmt::format("shape right {}, depth rms {:.2f} max {:.2f} mm", s.notch_shape_right,
                               rms(s.notch_depth_errors), largest(s.notch_depth_errors))) +
         kind_line("hole", s.hole,
                   fmt::format("centre rms {:.2f} max {:.2f} mm", rms(s.hole_errors), largest(s.hole_errors))) +
         kind_line("needle row", s.row,
                   fmt::format("rms {:.2f} mm, within 1 mm {:.1f} % of {} holes", rms(s.row_errors), 100 * near,
                               s.needle_holes));
}

}  // namespace

std::string table_of(const std::vector<TrialResult>& trials) {
  MarkScore all;
  for (const TrialResult& t : trials) all += t.score;
  std::string out = match_tables(trials) + "\n" + kind_table(all);
  out += fmt::format("\nfalse marks {}, panels {}, not measured {}\n", all.false_marks(), all.panels, all.missing);
  for (const TrialResult& t : trials) {
    if (!t.fault.empty()) out += fmt::format("  {}: {}\n", t.name, t.fault);
  }
  return out;
}

std::string line_of(const TrialResult& t) {
  const MarkScore& s = t.score;
  std::string out = fmt::format("{:<28} C {:5.1f}  match {}/{} +{}", t.name, t.contrast, s.match.found, s.match.truth,
                                s.match.invented);
  const auto add = [&](const char* name, const Tally& tally) {
    if (tally.truth + tally.invented > 0)
      out += fmt::format("  {} {}/{} +{}", name, tally.found, tally.truth, tally.invented);
  };
  add("centre", s.centre);
  add("grain", s.grain);
  add("underside", s.underside);
  add("writing", s.writing);
  add("notch", s.notch);
  add("hole", s.hole);
  add("row", s.row);
  if (!t.fault.empty()) out += "  " + t.fault;
  return out + "\n";
}

}  // namespace chalkfold::accuracy
