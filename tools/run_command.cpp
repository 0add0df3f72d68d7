// SPDX-License-Identifier: Apache-2.0
#include "tools/run_command.h"

#include <fmt/format.h>
#include <unistd.h>

#include <charconv>
#include <cstdio>
#include <memory>
#include <optional>

#include "pipeline/common/utf8.h"
#include "pipeline/job/run_job.h"
#include "pipeline/output/summary.h"
#include "tools/terminal_progress.h"

namespace chalkfold {

namespace {
struct RunArguments {
  RunOptions run;
  std::vector<std::string> photos, tape;
  std::string out, pictures;
  std::optional<double> thickness, thickness_sigma, long_bar, short_bar;
  bool quiet = false, json = false;
};

template <class Number>
bool parse_number(const std::string& text, Number& number) {
  const char* last = text.data() + text.size();
  const auto [end, error] = std::from_chars(text.data(), last, number);
  return error == std::errc() && end == last;
}

void refuse_job_files(const RunArguments& arguments) {
  for (const std::string& photo : arguments.photos) {
    if (CLI::detail::to_lower(std::filesystem::path(photo).extension().string()) != ".json") continue;
    throw UsageError(fmt::format("{}: job files are not supported yet by this version; name the photos themselves",
                                 plain_text(photo)));
  }
}

/// A full disk behind a redirected output must not pass for success.
void print_whole(const std::string& text) {
  if (std::fwrite(text.data(), 1, text.size(), stdout) != text.size() || std::fflush(stdout) != 0) {
    throw FileError("cannot write the results to standard output; they are in the output folder");
  }
}

ExitCode run(RunArguments arguments) {
  refuse_job_files(arguments);
  RunOptions& options = arguments.run;
  options.photos.assign(arguments.photos.begin(), arguments.photos.end());
  options.out = arguments.out;
  options.stage_pictures = arguments.pictures;
  options.thickness = arguments.thickness;
  options.thickness_sigma = arguments.thickness_sigma;
  options.survey.print.long_bar_mm = arguments.long_bar;
  options.survey.print.short_bar_mm = arguments.short_bar;
  for (const std::string& text : arguments.tape) options.survey.tape.push_back(parse_tape(text));

  NoProgress none;
  TerminalProgress shown(stderr, ::isatty(STDERR_FILENO) == 1);
  const Results results = run_job(options, arguments.quiet ? static_cast<Progress&>(none) : shown);
  if (arguments.json) {
    print_whole(results_json(results));
  } else if (!arguments.quiet) {
    print_whole(summary_text(results, (options.out / "report.html").string()));
  }
  return static_cast<ExitCode>(results.exit);
}

void add_options(CLI::App& command, RunArguments& arguments) {
  RunOptions& run = arguments.run;
  command.add_option("PHOTO", arguments.photos, "photos of panels among printed sheets (JPEG, PNG, TIFF, WebP, HEIC)")
      ->required();
  command.add_option("--out", arguments.out, "folder for the results; made if need be")->required();
  command.add_option("--thickness-mm", arguments.thickness, "how high the panels' upper face lies above the table");
  command.add_option("--thickness-sigma-mm", arguments.thickness_sigma, "how well that is known (1 sigma)");
  command.add_option("--long-bar-mm", arguments.long_bar,
                     "what a steel rule says of the sheets' long check bar (240 when true)");
  command.add_option("--short-bar-mm", arguments.short_bar, "the same of the short check bar (170 when true)");
  command.add_option("--bar-sigma-mm", run.survey.print.sigma_mm, "how well the bars were read (1 sigma)")
      ->capture_default_str();
  command
      .add_option("--tape", arguments.tape,
                  "distance between the centre crosses of two sheets: A,B,MM[,SIGMA_MM]; may be given again")
      ->allow_extra_args(false);
  command.add_option("--min-width-mm", run.trace.min_width, "narrowest panel; narrower things are tools")
      ->capture_default_str();
  command.add_option("--max-megapixels", run.load.max_megapixels, "larger photos are refused before they are decoded")
      ->capture_default_str();
  command.add_option("--threads", run.threads, "photos in work at the same time; 0 for one each core")
      ->capture_default_str();
  command.add_option("--pictures", arguments.pictures,
                     "folder for a picture of every stage, to see where a measurement went wrong");
  command.add_flag("--quiet", arguments.quiet, "no progress and no summary");
  command.add_flag("--json", arguments.json, "print results.json instead of the summary");
}
}  // namespace

TapeDistance parse_tape(const std::string& text) {
  std::vector<std::string> parts = CLI::detail::split(text, ',');
  TapeDistance tape;
  const bool fits = (parts.size() == 3 || parts.size() == 4) && parse_number(parts[0], tape.sheet_a) &&
                    parse_number(parts[1], tape.sheet_b) && parse_number(parts[2], tape.mm) &&
                    (parts.size() == 3 || parse_number(parts[3], tape.sigma_mm));
  if (!fits) {
    throw UsageError(fmt::format(
        "--tape {}: must be two sheet numbers and millimetres, like 1,3,1012.0 or, with a sigma, 1,3,1012.0,0.5",
        plain_text(text)));
  }
  return tape;
}

CLI::App* add_run_command(CLI::App& app, ExitCode& exit_code) {
  CLI::App* command = app.add_subcommand("run", "Measure the panels in photos");
  const auto arguments = std::make_shared<RunArguments>();
  add_options(*command, *arguments);
  command->callback([arguments, &exit_code] { exit_code = run(*arguments); });
  return command;
}

}  // namespace chalkfold
