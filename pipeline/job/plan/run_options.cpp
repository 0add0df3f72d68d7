// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/plan/run_options.h"

#include <fmt/format.h>

#include "calib/sheet_layout.h"
#include "pipeline/common/check_option.h"
#include "pipeline/common/error.h"

namespace chalkfold::job {

namespace {
/// Also refuses what is not a number.
void check_range(const char* name, double value, double least, double most, const char* unit) {
  if (value >= least && value <= most) return;
  throw UsageError(
      fmt::format("--{} {:g}: must be from {:g} to {:g}{}{}", name, value, least, most, *unit ? " " : "", unit));
}

void check_range(const char* name, const std::optional<double>& value, double least, double most, const char* unit) {
  if (value) check_range(name, *value, least, most, unit);
}

void check_tape(const survey::TapeDistance& tape) {
  check_range("tape (sheet number)", tape.sheet_a, 1, sheet::sheets_max, "");
  check_range("tape (sheet number)", tape.sheet_b, 1, sheet::sheets_max, "");
  if (tape.sheet_a == tape.sheet_b) {
    throw UsageError(fmt::format("--tape {0},{0}: name two different sheets", tape.sheet_a));
  }
  // Closer than a sheet is wide, or further than a room is long: a slip of the unit.
  check_range("tape (distance)", tape.mm, 150, 20000, "mm");
  check_range("tape (sigma)", tape.sigma_mm, 0.01, 50, "mm");
}
}  // namespace

void check(const PieceFileOptions& options) { check(options.pdf); }

void check(const RunOptions& options) {
  if (options.photos.empty() && options.measured.empty()) throw UsageError("no photo given: name at least one");
  if (options.out.empty()) throw UsageError("--out is empty: name a folder for the results");
  check_range("thickness-mm", options.thickness, 0, 50, "mm");
  check_range("thickness-sigma-mm", options.thickness_sigma, 0, 20, "mm");
  // Printers that fit a page to its margins shrink it by up to a tenth.
  check_range("long-bar-mm", options.survey.print.long_bar_mm, 0.85 * sheet::long_bar, 1.15 * sheet::long_bar, "mm");
  check_range("short-bar-mm", options.survey.print.short_bar_mm, 0.85 * sheet::short_bar, 1.15 * sheet::short_bar,
              "mm");
  check_range("bar-sigma-mm", options.survey.print.sigma_mm, 0.001, 5, "mm");
  check_range("min-width-mm", options.trace.min_width, 5, 2000, "mm");
  check_range("max-megapixels", options.load.max_megapixels, options.load.min_megapixels, 2000, "Mpx");
  check_range("allowance-mm", options.draft.allowance, 0, 100, "mm");
  check_range("existing-allowance-mm", options.existing_allowance, 0, 100, "mm");
  check_range("tolerance-mm", options.draft.edges.tolerance, 0.02, 5, "mm");
  check_range("quantity", options.draft.quantity, 1, 1000, "");
  check_range("threads", options.threads, 0, 256, "");
  check_range("memory-mb", options.memory_mb, 16, 1e6, "MB");
  for (const survey::TapeDistance& tape : options.survey.tape) check_tape(tape);
  check_option("assumed thickness, mm,", options.assumed_thickness, 0, 50);
  check_option("sigma of an assumed thickness, mm,", options.assumed_thickness_sigma, 0, 20);
  check_option("decoded photos kept, MB,", options.keep_pixels_mb, 0, 1e6);
  check(options.load);
  check(options.sighting);
  check(options.survey);
  check(effective_trace(options));
  check(options.draft);
  check(options.files);
  for (const PairOf& pair : options.pairs)
    if (pair.first == pair.second)
      throw UsageError(fmt::format("--pair {0},{0}: name two different panels", pair.first));
}

draft::DraftOptions effective_draft(const RunOptions& options) {
  draft::DraftOptions draft = options.draft;
  draft.existing_allowance = options.existing_allowance.value_or(draft.allowance);
  return draft;
}

trace::TraceOptions effective_trace(const RunOptions& options) {
  trace::TraceOptions trace = options.trace;
  trace.thickness = options.thickness.value_or(options.assumed_thickness);
  const double sigma = options.thickness ? trace::TraceOptions{}.thickness_sigma : options.assumed_thickness_sigma;
  trace.thickness_sigma = options.thickness_sigma.value_or(sigma);
  return trace;
}

}  // namespace chalkfold::job
