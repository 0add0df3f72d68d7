// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/report/report_seams.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "pipeline/output/drawing/escape.h"

namespace chalkfold::output {
namespace {

constexpr double shown_confidence = 0.2;  // of a proposal; the rest stands in results.json

std::string side_text(const draft::SeamSide& side) { return markup_text(draft::to_text(side)); }

std::string verdict_html(const draft::SeamReport& seam) {
  std::string out = seam.verdict == draft::SeamVerdict::does_not_meet
                        ? fmt::format("<b>{}</b>", draft::to_string(seam.verdict))
                        : draft::to_string(seam.verdict);
  return seam.marks_meet() ? out : out + "; <b>marks do not</b>";
}

std::string ease_text(double ease) { return ease == 0 ? "none" : fmt::format("{:+g}", ease); }

std::string seam_row(const draft::SeamReport& seam, const draft::SeamReport* after) {
  std::string out = fmt::format(
      "<tr><td class=\"n\">{}</td><td>{}</td><td>{}</td><td class=\"n\">{:.1f} &plusmn; {:.1f}</td><td "
      "class=\"n\">{:.1f} &plusmn; {:.1f}</td><td class=\"n\">{:+.1f}</td><td class=\"n\">{}</td><td "
      "class=\"n\">{:.1f}</td><td>{}</td>",
      seam.asked.number, side_text(seam.asked.a), side_text(seam.asked.b), seam.a.length, seam.a.U, seam.b.length,
      seam.b.U, seam.difference, ease_text(seam.asked.ease), seam.tolerance, verdict_html(seam));
  if (after)
    out += fmt::format("<td class=\"n\">{:.1f}</td><td class=\"n\">{:.1f}</td><td class=\"n\">{:+.2f}</td><td>{}</td>",
                       after->a.length, after->b.length, after->difference, verdict_html(*after));
  return out + "</tr>\n";
}

std::string seam_table(const draft::SetReport& report) {
  std::string out =
      "<div class=\"scroll\"><table>\n<tr><th class=\"n\">Seam</th><th>a</th><th>b</th><th class=\"n\">a, mm</th><th "
      "class=\"n\">b, mm</th><th class=\"n\">a - b</th><th class=\"n\">Ease</th><th class=\"n\">Tolerance</th><th>"
      "Verdict</th>";
  if (report.adjusted)
    out += "<th class=\"n\">a adjusted</th><th class=\"n\">b adjusted</th><th class=\"n\">a - b</th><th>Verdict</th>";
  out += "</tr>\n";
  for (std::size_t i = 0; i < report.seams.size(); ++i)
    out += seam_row(report.seams[i], report.adjusted ? &report.after[i] : nullptr);
  return out + "</table></div>\n";
}

std::string which_way(const draft::SeamReport& seam) {
  const char* run = seam.asked.run == draft::SeamRun::with ? "Both run counter-clockwise" : "b runs clockwise";
  switch (seam.run_by) {
    case draft::SeamReport::RunBy::job:
      return fmt::format("{}, as the job says.", run);
    case draft::SeamReport::RunBy::marks:
      return fmt::format("{}, as the match marks tell.", run);
    case draft::SeamReport::RunBy::sides:
      break;
  }
  return fmt::format("{}, as the sides shown tell.", run);
}

std::string numbers_text(const std::vector<int>& numbers) {
  std::string out;
  for (int n : numbers) out += fmt::format("{}{}", out.empty() ? "" : ", ", n);
  return out;
}

/// Intervals between the marks of one seam, and marks that have no partner.
std::string intervals_html(const draft::SeamReport& seam) {
  std::string out = fmt::format("<p>Seam {}, {} with {}. {}", seam.asked.number, side_text(seam.asked.a),
                                side_text(seam.asked.b), which_way(seam));
  for (const auto& [side, marks] :
       {std::pair(&seam.asked.a, &seam.unpaired_marks_a), std::pair(&seam.asked.b, &seam.unpaired_marks_b)})
    if (!marks->empty())
      out += fmt::format(" On {} without a partner: mark {}.", side_text(*side), numbers_text(*marks));
  out +=
      "</p>\n<div class=\"scroll\"><table>\n<tr><th>Up to</th><th class=\"n\">a, mm</th><th class=\"n\">b, mm</th>"
      "<th class=\"n\">a - b</th><th class=\"n\">wanted</th><th></th></tr>\n";
  for (const draft::SeamInterval& i : seam.intervals)
    out += fmt::format(
        "<tr><td>{}</td><td class=\"n\">{:.1f}</td><td class=\"n\">{:.1f}</td><td class=\"n\">{:+.1f}</td><td "
        "class=\"n\">{:+.1f}</td><td>{}</td></tr>\n",
        i.mark_a > 0 ? fmt::format("mark {} of a, mark {} of b", i.mark_a, i.mark_b) : "the end", i.a, i.b,
        i.difference(), i.wanted, i.meets() ? "meets" : "<b>does not meet</b>");
  return out + "</table></div>\n";
}

std::string files_html(const std::vector<std::string>& files) {
  std::string out;
  for (const std::string& file : files)
    out += fmt::format("{}<a href=\"{}\">{}</a>", out.empty() ? "" : ", ", markup_link(file), markup_text(file));
  return out;
}

/// `refused`: as the adjustment moved it, it could not be cut.
std::string moved_html(const draft::PieceMoves& moves, const PieceRecord& record, bool refused) {
  std::string out = fmt::format("<article>\n<h3>{}</h3>\n<div class=\"panel\">\n", markup_text(moves.piece));
  if (!record.change_picture.empty())
    out += fmt::format("<a href=\"{0}\"><img class=\"piece\" src=\"{0}\" alt=\"what was moved\"></a>\n",
                       markup_link(record.change_picture));
  out += "<div class=\"beside\">\n";
  out += moves.fixed ? std::string("<p>Fixed by the job: left as it is.</p>\n")
         : refused   ? std::string("<p>It could not be cut as its seams ask: left as it was drafted.</p>\n")
         : record.piece.adjusted
             ? fmt::format("<p>Moved by {:.2f} mm rms, {:.2f} mm at the most.</p>\n", moves.rms, moves.largest)
             : std::string("<p>Nothing had to be moved.</p>\n");
  if (record.piece.adjusted) {
    out +=
        "<div class=\"scroll\"><table>\n<tr><th class=\"n\">Edge</th><th class=\"n\">before, mm</th><th "
        "class=\"n\">after, mm</th><th class=\"n\">%</th></tr>\n";
    for (std::size_t e = 0; e < moves.edge_before.size(); ++e)
      out += fmt::format(
          "<tr><td class=\"n\">{}</td><td class=\"n\">{:.1f}</td><td class=\"n\">{:.1f}</td><td "
          "class=\"n\">{:+.2f}</td></tr>\n",
          record.piece.edges[e].number, moves.edge_before[e], moves.edge_after[e],
          100 * (moves.edge_after[e] / std::max(moves.edge_before[e], 1e-9) - 1));
    out += "</table></div>\n";
  }
  if (!record.files.empty()) out += fmt::format("<p>Adjusted: {}</p>\n", files_html(record.files));
  return out + "</div>\n</div>\n</article>\n";
}

std::string adjustment_html(const SetRecord& set) {
  const draft::SetReport& report = set.report;
  if (report.seams.empty()) return "";
  if (!report.adjusted)
    return fmt::format("<p>The pieces were not adjusted to each other: {}.</p>\n", markup_text(report.reason));
  std::string out = fmt::format(
      "<h3>Adjusted so that the set sews together</h3>\n<p>The pieces above are as measured and stay so. Beside them "
      "stand these: "
      "made to meet at every seam with the least movement that wear of {:g} % and the measurement explain. Look at "
      "every move before you cut; grey before, black after.</p>\n",
      100 * set.wear);
  for (const draft::PieceMoves& moves : report.moves) {
    const bool refused = std::any_of(report.faults.begin(), report.faults.end(), [&](const Fault& f) {
      return f.severity == Severity::refusal && f.panel == moves.piece;
    });
    for (const PieceRecord& record : set.adjusted)
      if (record.piece.name == moves.piece) out += moved_html(moves, record, refused);
  }
  if (!set.set_files.empty())
    out += fmt::format("<p>All adjusted pieces side by side: {}</p>\n", files_html(set.set_files));
  return out;
}

std::string proposals_html(const draft::SetReport& report) {
  const auto shown = std::count_if(report.proposals.begin(), report.proposals.end(),
                                   [](const draft::SeamReport& s) { return s.confidence >= shown_confidence; });
  if (shown == 0) return "";
  std::string out =
      "<h3>Seams that may be meant</h3>\n<p>Proposed by the program from lengths, match marks and bends; nothing is "
      "adjusted to them. Write those that are right into the job.</p>\n<div class=\"scroll\"><table>\n<tr><th>a</th>"
      "<th>b</th><th class=\"n\">a, mm</th><th class=\"n\">b, mm</th><th class=\"n\">a - b</th><th class=\"n\">Marks "
      "that "
      "pair</th><th class=\"n\">Confidence</th></tr>\n";
  for (const draft::SeamReport& seam : report.proposals) {
    if (seam.confidence < shown_confidence) continue;
    out += fmt::format(
        "<tr><td>{}</td><td>{}</td><td class=\"n\">{:.1f}</td><td class=\"n\">{:.1f}</td><td "
        "class=\"n\">{:+.1f}</td><td "
        "class=\"n\">{}</td><td class=\"n\">{:.2f}</td></tr>\n",
        side_text(seam.asked.a), side_text(seam.asked.b), seam.a.length, seam.b.length, seam.difference,
        seam.intervals.size() - 1, seam.confidence);
  }
  return out + "</table></div>\n";
}

std::string unpaired_html(const draft::SetReport& report) {
  if (report.unpaired.empty() || report.seams.empty()) return "";
  std::string out;
  for (const draft::UnpairedEdge& edge : report.unpaired)
    out += fmt::format("{}{}/{} ({:.1f} mm)", out.empty() ? "" : ", ", markup_text(edge.piece), edge.edge, edge.length);
  return fmt::format("<p>No seam of the job takes these edges: {}.</p>\n", out);
}

}  // namespace

std::string seams_html(const Results& results) {
  if (!results.set) return "";
  const draft::SetReport& report = results.set->report;
  std::string out;
  if (!report.seams.empty()) {
    out +=
        "<p>Net lengths of the sew lines. A seam meets when a - b is the ease within the tolerance. Marks are "
        "counted counter-clockwise along each edge, a double mark as one.</p>\n" +
        seam_table(report);
    for (const draft::SeamReport& seam : report.seams)
      if (seam.intervals.size() > 1 || !seam.unpaired_marks_a.empty() || !seam.unpaired_marks_b.empty())
        out += intervals_html(seam);
  }
  out += unpaired_html(report) + adjustment_html(*results.set) + proposals_html(report);
  return out.empty() ? "" : "<h2>Seams</h2>\n" + out;
}

}  // namespace chalkfold::output
