// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/words/sewing_words.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "pipeline/common/require.h"
#include "pipeline/common/utf8.h"
#include "pipeline/output/words/cautions.h"

namespace chalkfold::output {
namespace {

const draft::Piece* piece_named(const Results& results, const std::string& name) {
  for (const PieceRecord& record : results.pieces)
    if (record.piece.name == name) return &record.piece;
  return nullptr;
}

/// Both pieces of a seam, or the one when it is sewn to itself.
std::vector<const draft::Piece*> pieces_of(const Results& results, const draft::SeamAsked& seam) {
  std::vector<const draft::Piece*> out;
  for (const std::string& name : {seam.a.piece, seam.b.piece})
    if (const draft::Piece* piece = piece_named(results, name); piece && (out.empty() || out.front() != piece))
      out.push_back(piece);
  return out;
}

std::string length_text(const draft::SeamReport& seam) {
  std::string out = fmt::format("Length {:.1f} mm on {}, {:.1f} mm on {}", seam.a.length,
                                plain_text(seam.asked.a.piece), seam.b.length, plain_text(seam.asked.b.piece));
  if (seam.asked.ease > 0)
    out += fmt::format("; ease in {:.1f} mm of {} evenly between the marks", seam.asked.ease,
                       plain_text(seam.asked.a.piece));
  if (seam.asked.ease < 0)
    out += fmt::format("; ease in {:.1f} mm of {} evenly between the marks", -seam.asked.ease,
                       plain_text(seam.asked.b.piece));
  return out + ".";
}

std::string marks_text(const draft::SeamReport& seam) {
  if (seam.intervals.size() < 2) return "No marks to meet: pin the ends and the middle.";
  std::string out = "From mark to mark:";
  for (std::size_t i = 0; i < seam.intervals.size(); ++i) {
    const draft::SeamInterval& interval = seam.intervals[i];
    out +=
        fmt::format("{} {:.1f} on {:.1f}{}", i == 0 ? "" : ",", interval.a, interval.b, interval.meets() ? "" : " (!)");
  }
  out += " mm";
  const std::size_t left_over = seam.unpaired_marks_a.size() + seam.unpaired_marks_b.size();
  if (left_over > 0) out += fmt::format("; {} mark{} without a partner", left_over, left_over == 1 ? "" : "s");
  return out + ".";
}

std::string one_allowance(const std::vector<double>& allowances) {
  const auto [least, most] = std::minmax_element(allowances.begin(), allowances.end());
  if (allowances.empty()) return "unknown";
  return *most - *least < 0.05 ? fmt::format("{:g}", *least) : fmt::format("{:g} to {:g}", *least, *most);
}

std::string stitch_text(const draft::SewingStep& step, const draft::SeamReport& seam) {
  const std::string a = one_allowance(step.allowances_a), b = one_allowance(step.allowances_b);
  if (a == b) return fmt::format("Stitch {} mm from the cut edge.", a);
  return fmt::format("Stitch {} mm from the cut edge of {}, {} mm from that of {}.", a, plain_text(seam.asked.a.piece),
                     b, plain_text(seam.asked.b.piece));
}

std::string group_text(const draft::SewingStep& step) {
  if (!step.group) return "order not known: say role or group in the job";
  std::string out = draft::to_string(*step.group);
  return step.ordered_by_job ? out + ", placed by the job" : out;
}

std::vector<std::string> cautions_of(const draft::SewingStep& step, const draft::SeamReport& seam,
                                     const Results& results) {
  std::vector<std::string> out;
  if (seam.verdict == draft::SeamVerdict::does_not_meet)
    out.push_back(
        fmt::format("The edges do not meet: {:.1f} mm apart in length where {:.1f} mm are wanted. Check pairing "
                    "and ease before sewing.",
                    seam.difference, seam.asked.ease));
  else if (!seam.marks_meet())
    out.emplace_back("The edges meet, but not all marks do (!): look at them before sewing.");
  const auto pieces = pieces_of(results, seam.asked);
  const auto any = [&](bool (*holds)(const draft::Piece&)) {
    return std::any_of(pieces.begin(), pieces.end(), [&](const draft::Piece* p) { return holds(*p); });
  };
  if (any(may_cover_airbag)) out.push_back(airbag_caution_short());
  if (any(may_be_glued)) out.push_back(glue_caution());
  if (step.fit != draft::SewingStep::Fit::no) out.push_back(ring_caution());
  return out;
}

}  // namespace

std::vector<StepWords> step_words(const Results& results) {
  require(results.sewing.has_value(), "the results have no sewing sheet");
  std::vector<StepWords> out;
  const draft::SewingSheet& sheet = results.sewing->sheet;
  for (std::size_t i = 0; i < sheet.steps.size(); ++i) {
    const draft::SewingStep& step = sheet.steps[i];
    const draft::SeamReport& seam = results.sewing->seams.at(step.seam);
    StepWords words;
    words.heading = fmt::format("{}. {} to {}", i + 1, plain_text(draft::to_text(seam.asked.a)),
                                plain_text(draft::to_text(seam.asked.b)));
    words.fit = step.fit != draft::SewingStep::Fit::no;
    if (words.fit)
      words.facts.push_back(fmt::format("First try the cover on the seat{}.", step.fit == draft::SewingStep::Fit::job
                                                                                  ? ""
                                                                                  : " (common practice, no source)"));
    words.facts.push_back(fmt::format("Seam {}, {}.", seam.asked.number, group_text(step)));
    words.facts.push_back(length_text(seam));
    words.facts.push_back(marks_text(seam));
    words.facts.push_back(stitch_text(step, seam));
    words.facts.push_back(
        fmt::format("Thread {:.2f} m ({:.1f} mm sewn through).", step.thread.total() / 1000, step.thickness));
    if (!seam.asked.note.empty()) words.facts.push_back(plain_text(seam.asked.note));
    words.cautions = cautions_of(step, seam, results);
    out.push_back(std::move(words));
  }
  return out;
}

std::vector<std::string> sheet_words(const Results& results) {
  require(results.sewing.has_value(), "the results have no sewing sheet");
  const draft::SewingSheet& sheet = results.sewing->sheet;
  return {
      "Order: centre pieces to each other, sides to each other, sides to the centre, the closing seam, edge strips "
      "last "
      "(common practice, no source); the job may order it otherwise.",
      fmt::format(
          "Lockstitch (ISO 4915 type 301), {:g} mm from hole to hole. {:.2f} m of seam take {:.1f} m of thread: "
          "{:.1f} m from the needle and {:.1f} m from the bobbin, {:.0f} % waste among it.",
          sheet.stitch.stitch, sheet.seam_length / 1000, sheet.thread.total() / 1000, sheet.thread.needle / 1000,
          sheet.thread.bobbin / 1000, 100 * sheet.stitch.waste),
      "A piece's edges are numbered counter-clockwise, as on its drawing. Lay mark on mark, lengths are along the sew "
      "line."};
}

bool sews_by_airbag(const Results& results) {
  require(results.sewing.has_value(), "the results have no sewing sheet");
  for (const draft::SewingStep& step : results.sewing->sheet.steps)
    for (const draft::Piece* piece : pieces_of(results, results.sewing->seams.at(step.seam).asked))
      if (may_cover_airbag(*piece)) return true;
  return false;
}

}  // namespace chalkfold::output
