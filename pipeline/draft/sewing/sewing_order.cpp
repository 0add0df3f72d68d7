// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/sewing/sewing_order.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>

#include "pipeline/common/check_option.h"
#include "pipeline/common/utf8.h"
#include "pipeline/draft/set/seam_run.h"

namespace chalkfold::draft {
namespace {

RoleKnown role_of(const Piece& piece, const SewingOptions& options) {
  const auto given = options.roles.find(piece.name);
  if (given != options.roles.end()) return {given->second, RoleKnown::By::job};
  for (const std::string& words : {piece.part, piece.name})
    if (const auto role = role_in_words(words)) return {role, RoleKnown::By::words};
  return {};
}

std::optional<SewingGroup> group_of_roles(PieceRole a, PieceRole b) {
  if (a == PieceRole::edge_strip || b == PieceRole::edge_strip) return SewingGroup::edge_strip;
  if (a != b) return SewingGroup::sides_to_centre;
  return a == PieceRole::centre ? SewingGroup::centre : SewingGroup::sides;
}

/// Of the run's edges, in the way of travel.
std::vector<double> allowances(const SeamSide& side, const std::vector<Piece>& pieces) {
  std::vector<double> out;
  if (const auto run = edge_run(side, pieces))
    for (std::size_t edge : run->edges) out.push_back(pieces[run->piece].edges[edge].allowance);
  return out;
}

double thickness_of(const std::string& piece, const SewingOptions& options) {
  const auto given = options.thicknesses.find(piece);
  return given == options.thicknesses.end() ? options.thickness : given->second;
}

/// Place of a group in the order; seams without one come before the closing seam.
int rank_of(const std::optional<SewingGroup>& group) {
  if (!group) return 3;
  switch (*group) {
    case SewingGroup::centre:
      return 0;
    case SewingGroup::sides:
      return 1;
    case SewingGroup::sides_to_centre:
      return 2;
    case SewingGroup::closing:
      return 4;
    case SewingGroup::edge_strip:
      break;
  }
  return 5;
}

/// Seams that the job gives a place stand there or, when it is taken, at the next that is free; the others fill the rest.
std::vector<SewingStep> in_order(std::vector<SewingStep> steps, const std::vector<SeamReport>& seams) {
  const auto asked = [&](const SewingStep& step) -> const SeamAsked& { return seams[step.seam].asked; };
  std::stable_sort(steps.begin(), steps.end(), [&](const SewingStep& a, const SewingStep& b) {
    return std::pair(rank_of(a.group), asked(a).number) < std::pair(rank_of(b.group), asked(b).number);
  });
  std::vector<SewingStep> placed, rest;
  for (SewingStep& step : steps) (step.ordered_by_job ? placed : rest).push_back(std::move(step));
  std::stable_sort(placed.begin(), placed.end(), [&](const SewingStep& a, const SewingStep& b) {
    return std::pair(*asked(a).order, asked(a).number) < std::pair(*asked(b).order, asked(b).number);
  });
  std::vector<SewingStep> out;
  auto next = rest.begin();
  for (SewingStep& step : placed) {
    while (next != rest.end() && static_cast<int>(out.size()) + 1 < *asked(step).order)
      out.push_back(std::move(*next++));
    out.push_back(std::move(step));
  }
  std::move(next, rest.end(), std::back_inserter(out));
  return out;
}

bool of_group(const SewingStep& step, SewingGroup group) { return step.group && *step.group == group; }

/// Common practice, no source: the cover goes on the seat once before it is closed.
void mark_customary_fit(std::vector<SewingStep>& steps) {
  for (const SewingGroup last : {SewingGroup::closing, SewingGroup::edge_strip}) {
    const auto at = std::find_if(steps.begin(), steps.end(), [&](const SewingStep& s) { return of_group(s, last); });
    if (at == steps.end()) continue;
    const bool sides_are_on = std::any_of(steps.begin(), at, [](const SewingStep& s) {
      return of_group(s, SewingGroup::sides) || of_group(s, SewingGroup::sides_to_centre);
    });
    if (sides_are_on && at->fit == SewingStep::Fit::no) at->fit = SewingStep::Fit::customary;
    return;
  }
}

void tell_unknown(const SewingSheet& sheet, const std::vector<Piece>& pieces, Faults& faults) {
  std::string names;
  for (const SewingStep& step : sheet.steps)
    if (!step.group) {
      for (std::size_t i = 0; i < pieces.size(); ++i)
        if (!sheet.roles[i].role && names.find("\"" + pieces[i].name + "\"") == std::string::npos)
          names += fmt::format("{}\"{}\"", names.empty() ? "" : ", ", pieces[i].name);
      break;
    }
  if (names.empty()) return;
  faults.push_back(
      {"role-not-known",
       Severity::note,
       fmt::format("whether these pieces are centre, side or edge strip is not known: {}; their seams stand "
                   "by number between the sides and the closing seam",
                   names),
       "Give role (centre, side, edge strip) to their panels in the job, or group or order to the seams.",
       {},
       {}});
}

SewingStep step_of(std::size_t index, const std::vector<SeamReport>& seams, const std::vector<Piece>& pieces,
                   const SewingSheet& sheet, const SewingOptions& options) {
  const SeamReport& seam = seams[index];
  SewingStep step;
  step.seam = index;
  step.group = seam.asked.group;
  if (step.group) step.group_by = SewingStep::By::job;
  std::array<std::optional<PieceRole>, 2> roles;
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    if (pieces[i].name == seam.asked.a.piece) roles[0] = sheet.roles[i].role;
    if (pieces[i].name == seam.asked.b.piece) roles[1] = sheet.roles[i].role;
  }
  if (!step.group && roles[0] && roles[1]) {
    step.group = group_of_roles(*roles[0], *roles[1]);
    step.group_by = SewingStep::By::roles;
  }
  step.ordered_by_job = seam.asked.order.has_value();
  step.length = std::max(seam.a.length, seam.b.length);
  step.thickness = options.stitch.thickness > 0
                       ? options.stitch.thickness
                       : thickness_of(seam.asked.a.piece, options) + thickness_of(seam.asked.b.piece, options);
  step.thread = thread_need(step.length, step.thickness, options.stitch);
  step.allowances_a = allowances(seam.asked.a, pieces);
  step.allowances_b = allowances(seam.asked.b, pieces);
  if (seam.asked.fit_on_seat) step.fit = SewingStep::Fit::job;
  return step;
}

}  // namespace

std::string to_string(PieceRole role) {
  return role == PieceRole::centre ? "centre" : role == PieceRole::side ? "side" : "edge strip";
}

std::string to_string(SewingGroup group) {
  switch (group) {
    case SewingGroup::centre:
      return "centre pieces to each other";
    case SewingGroup::sides:
      return "sides to each other";
    case SewingGroup::sides_to_centre:
      return "sides to the centre";
    case SewingGroup::closing:
      return "closing seam";
    case SewingGroup::edge_strip:
      break;
  }
  return "edge strips";
}

std::optional<PieceRole> role_in_words(std::string_view words) {
  static constexpr std::array<std::pair<std::string_view, PieceRole>, 9> known = {{{"centre", PieceRole::centre},
                                                                                   {"center", PieceRole::centre},
                                                                                   {"middle", PieceRole::centre},
                                                                                   {"side", PieceRole::side},
                                                                                   {"bolster", PieceRole::side},
                                                                                   {"strip", PieceRole::edge_strip},
                                                                                   {"band", PieceRole::edge_strip},
                                                                                   {"piping", PieceRole::edge_strip},
                                                                                   {"welt", PieceRole::edge_strip}}};
  std::optional<PieceRole> role;
  std::string word;
  bool several = false;
  for (std::size_t i = 0; i <= words.size(); ++i) {
    const auto c = i < words.size() ? static_cast<unsigned char>(words[i]) : static_cast<unsigned char>(' ');
    if (std::isalpha(c)) {
      word += static_cast<char>(std::tolower(c));
      continue;
    }
    for (const auto& [name, its] : known) {
      if (word != name) continue;
      several = several || (role && *role != its);
      role = its;
    }
    word.clear();
  }
  return several ? std::nullopt : role;
}

void check(const SewingOptions& o) {
  constexpr double thickest = 50;  // mm
  check(o.stitch);
  check_option("thickness of a piece, mm,", o.thickness, 0, thickest);
  for (const auto& [piece, thickness] : o.thicknesses)
    check_option("thickness of the piece " + plain_text(piece) + ", mm,", thickness, 0, thickest);
}

SewingSheet sewing_sheet(const std::vector<SeamReport>& seams, const std::vector<Piece>& pieces,
                         const SewingOptions& options) {
  check(options);
  SewingSheet sheet;
  sheet.stitch = options.stitch;
  for (const Piece& piece : pieces) sheet.roles.push_back(role_of(piece, options));
  std::vector<SewingStep> steps;
  for (std::size_t i = 0; i < seams.size(); ++i)
    if (!seams[i].proposed) steps.push_back(step_of(i, seams, pieces, sheet, options));
  sheet.steps = in_order(std::move(steps), seams);
  mark_customary_fit(sheet.steps);
  for (const SewingStep& step : sheet.steps) {
    sheet.seam_length += step.length;
    sheet.thread.needle += step.thread.needle;
    sheet.thread.bobbin += step.thread.bobbin;
  }
  tell_unknown(sheet, pieces, sheet.faults);
  return sheet;
}

}  // namespace chalkfold::draft
