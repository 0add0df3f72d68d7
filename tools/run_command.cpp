// SPDX-License-Identifier: Apache-2.0
#include "tools/run_command.h"

#include <fmt/format.h>
#include <unistd.h>

#include <charconv>
#include <cstdio>
#include <map>
#include <memory>
#include <optional>

#include "pipeline/common/utf8.h"
#include "pipeline/common/write_file.h"
#include "pipeline/job/files/write_files.h"
#include "pipeline/job/job_inputs.h"
#include "pipeline/job/plan/photo_folder.h"
#include "pipeline/job/run_job.h"
#include "pipeline/output/words/summary.h"
#include "tools/stop_signal.h"
#include "tools/terminal_progress.h"

namespace chalkfold::tools {

namespace {
struct RunArguments {
  job::RunOptions run;
  std::vector<std::string> photos, tape;
  std::string out, pictures, write_job, lens;
  std::string existing, paper = "a4", arcs = "bulge", side = "inside", symmetric = "auto", fold = "mean", notch = "vee";
  std::vector<std::string> edge_allowances, pairs;
  std::optional<double> thickness, thickness_sigma, long_bar, short_bar;
  bool quiet = false, json = false;
};

template <class Number>
bool parse_number(const std::string& text, Number& number) {
  const char* last = text.data() + text.size();
  const auto [end, error] = std::from_chars(text.data(), last, number);
  return error == std::errc() && end == last;
}

bool is_json(const std::string& file) {
  return CLI::detail::to_lower(std::filesystem::path(file).extension().string()) == ".json";
}

/// Photos, folders of photos, measured panels and a job file may be named side by side.
void sort_inputs(const RunArguments& arguments, job::RunOptions& options) {
  for (const std::string& file : arguments.photos) {
    std::error_code unknown;
    if (std::filesystem::is_directory(file, unknown))
      for (std::filesystem::path& photo : job::photos_in(file)) options.photos.push_back(std::move(photo));
    else if (is_json(file))
      job::add_json_input(file, options);
    else
      options.photos.emplace_back(file);
  }
}

/// What the words stand for; they are checked when the arguments are parsed.
void take_words(const RunArguments& arguments, draft::DraftOptions& draft) {
  const auto word = [](const std::string& text) { return CLI::detail::to_lower(text); };
  draft.side = word(arguments.side) == "face" ? draft::Side::face : draft::Side::inside;
  const std::string symmetric = word(arguments.symmetric), fold = word(arguments.fold), notch = word(arguments.notch);
  draft.symmetry.symmetric = symmetric == "yes"  ? draft::Symmetric::yes
                             : symmetric == "no" ? draft::Symmetric::no
                                                 : draft::Symmetric::automatic;
  draft.symmetry.fold = fold == "left" ? draft::Fold::left : fold == "right" ? draft::Fold::right : draft::Fold::mean;
  draft.notch_style = notch == "slit"    ? panel::NotchShape::slit
                      : notch == "round" ? panel::NotchShape::round
                                         : panel::NotchShape::vee;
}

void refuse_to_overwrite(const std::string& job) {
  if (job.empty() || !std::filesystem::exists(job)) return;
  throw FileError(
      fmt::format("{} is there already; give --write-job another name, so that nothing is lost", plain_text(job)));
}

void take_existing_allowance(const RunArguments& arguments, job::RunOptions& options) {
  if (arguments.existing.empty()) return;
  if (arguments.existing == "measured") {
    options.draft.existing_measured = true;
    return;
  }
  double mm = 0;
  if (!parse_number(arguments.existing, mm))
    throw UsageError(fmt::format("--existing-allowance-mm {}: must be a number of millimetres, or the word measured",
                                 plain_text(arguments.existing)));
  options.existing_allowance = mm;
}

void take_edge_allowances(const RunArguments& arguments, job::RunOptions& options) {
  for (const std::string& text : arguments.edge_allowances) {
    const std::vector<std::string> parts = CLI::detail::split(text, ',');
    int edge = 0;
    double mm = 0;
    if (parts.size() != 2 || !parse_number(parts[0], edge) || !parse_number(parts[1], mm) || edge < 1)
      throw UsageError(
          fmt::format("--edge-allowance-mm {}: must be an edge's number and millimetres, like 3,15", plain_text(text)));
    options.draft.edge_allowances[edge] = mm;
  }
}

void take_pairs(const RunArguments& arguments, job::RunOptions& options) {
  const std::map<std::string, draft::Fold> known{
      {"mean", draft::Fold::mean}, {"first", draft::Fold::left}, {"second", draft::Fold::right}};
  for (const std::string& text : arguments.pairs) {
    std::vector<std::string> parts = CLI::detail::split(text, ',');
    const auto keep = parts.size() == 3 ? known.find(CLI::detail::to_lower(parts[2])) : known.find("mean");
    if (parts.size() < 2 || parts.size() > 3 || parts[0].empty() || parts[1].empty() || keep == known.end())
      throw UsageError(
          fmt::format("--pair {}: must be two panels' names, like \"side left,side right\", and if need be which is "
                      "kept: mean, first or second",
                      plain_text(text)));
    options.pairs.push_back({parts[0], parts[1], {keep->second}});
  }
}

void take_paper(const RunArguments& arguments, job::RunOptions& options) {
  const std::map<std::string, output::PdfPaper> known{
      {"a4", output::PdfPaper::a4}, {"letter", output::PdfPaper::letter}, {"a3", output::PdfPaper::a3}};
  const auto paper = known.find(CLI::detail::to_lower(arguments.paper));
  if (paper != known.end()) {
    options.files.pdf.paper = paper->second;
    return;
  }
  options.files.pdf.paper = output::PdfPaper::roll;
  if (!parse_number(arguments.paper, options.files.pdf.roll_width) || options.files.pdf.roll_width < 150 ||
      options.files.pdf.roll_width > 5000)
    throw UsageError(
        fmt::format("--pdf-paper {}: must be a4, letter, a3, or the width of a roll in millimetres from 150 to 5000",
                    plain_text(arguments.paper)));
}

/// A full disk behind a redirected output must not pass for success.
void print_whole(const std::string& text) {
  if (std::fwrite(text.data(), 1, text.size(), stdout) != text.size() || std::fflush(stdout) != 0) {
    throw FileError("cannot write the results to standard output; they are in the output folder");
  }
}

ExitCode run(RunArguments arguments) {
  job::RunOptions& options = arguments.run;
  refuse_to_overwrite(arguments.write_job);
  take_words(arguments, options.draft);
  take_existing_allowance(arguments, options);
  take_edge_allowances(arguments, options);
  take_pairs(arguments, options);
  take_paper(arguments, options);
  options.files.arcs = arguments.arcs == "bulge";
  options.out = arguments.out;
  options.stage_pictures = arguments.pictures;
  options.thickness = arguments.thickness;
  options.thickness_sigma = arguments.thickness_sigma;
  options.survey.print.long_bar_mm = arguments.long_bar;
  options.survey.print.short_bar_mm = arguments.short_bar;
  if (!arguments.lens.empty())
    options.survey.lens.profile =
        calib::read_lens_profile(job::read_named_file(arguments.lens), plain_text(arguments.lens));
  sort_inputs(arguments, options);
  for (const std::string& text : arguments.tape) options.survey.tape.push_back(parse_tape(text));

  listen_for_stop();
  QuietProgress none;
  TerminalProgress shown(stderr, ::isatty(STDERR_FILENO) == 1);
  const output::Results results = job::run_job(options, arguments.quiet ? static_cast<job::Progress&>(none) : shown);
  if (!arguments.write_job.empty()) {
    const std::filesystem::path job(arguments.write_job);
    write_file_atomically(job, job::first_job_file(results, options, job.parent_path()));
  }
  if (arguments.json) {
    print_whole(output::results_json(results));
  } else if (!arguments.quiet) {
    print_whole(output::summary_text(results, (options.out / "report.html").string()));
  }
  return static_cast<ExitCode>(results.exit);
}

void add_piece_options(CLI::App& command, RunArguments& arguments) {
  draft::DraftOptions& draft = arguments.run.draft;
  const std::string pieces = "Pieces";
  command.add_option("--side", arguments.side, "which side of the panels was up in the photos")
      ->check(CLI::IsMember({"inside", "face"}, CLI::ignore_case))
      ->option_text("inside|face [inside]")
      ->group(pieces);
  command
      .add_option("--symmetric", arguments.symmetric,
                  "make pieces symmetric: auto (where a centre line is drawn, or the halves agree), yes, no")
      ->check(CLI::IsMember({"auto", "yes", "no"}, CLI::ignore_case))
      ->option_text("auto|yes|no [auto]")
      ->group(pieces);
  command.add_option("--fold", arguments.fold, "which half: the mean of both, or the left or right one folded over")
      ->check(CLI::IsMember({"mean", "left", "right"}, CLI::ignore_case))
      ->option_text("mean|left|right [mean]")
      ->group(pieces);
  command
      .add_option("--existing-allowance-mm", arguments.existing,
                  "from the old cut edge to the old seam; measured: from the needle holes; 0: cut on the seam; not "
                  "given: as --allowance-mm")
      ->option_text("MM|measured")
      ->group(pieces);
  command.add_option("--allowance-mm", draft.allowance, "from the seam to the new cut line")
      ->capture_default_str()
      ->group(pieces);
  command.add_option("--edge-allowance-mm", arguments.edge_allowances, "of one edge: NUMBER,MM; may be given again")
      ->allow_extra_args(false)
      ->group(pieces);
  command
      .add_option("--pair", arguments.pairs,
                  "two panels that are mirror images: NAME,NAME[,mean|first|second]; may be given again")
      ->allow_extra_args(false)
      ->group(pieces);
  command.add_option("--quantity", draft.quantity, "how often each piece is cut")->capture_default_str()->group(pieces);
  command.add_option("--tolerance-mm", draft.edges.tolerance, "how far an edge's curve may leave the measured points")
      ->capture_default_str()
      ->group(pieces);
  command.add_option("--notch-style", arguments.notch, "how notches are cut")
      ->check(CLI::IsMember({"vee", "slit", "round"}, CLI::ignore_case))
      ->option_text("vee|slit|round [vee]")
      ->group(pieces);
  command
      .add_flag("--face", arguments.run.files.face,
                "show the material's face in all piece files, whichever side was photographed")
      ->group(pieces);
  command.add_option("--pdf-paper", arguments.paper, "a4, letter, a3, or the width of a roll in mm")
      ->capture_default_str()
      ->group(pieces);
  command.add_option("--arcs", arguments.arcs, "arcs in cutter files: as arcs (bulge) or as polylines to 0.05 mm")
      ->check(CLI::IsMember({"bulge", "polyline"}))
      ->capture_default_str()
      ->group(pieces);
}

void add_options(CLI::App& command, RunArguments& arguments) {
  job::RunOptions& run = arguments.run;
  command
      .add_option("PHOTO", arguments.photos,
                  "photos of panels among printed sheets (JPEG, PNG, TIFF, WebP, HEIC), or a folder of them; or a job "
                  "file JOB.json; or "
                  "measured/NAME.json of an earlier run to draft anew")
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
  command.add_option("--lens", arguments.lens, "the phone's lens profile, as chalkfold lens writes it");
  add_piece_options(command, arguments);
  command.add_option("--min-width-mm", run.trace.min_width, "narrowest panel; narrower things are tools")
      ->capture_default_str();
  command.add_option("--max-megapixels", run.load.max_megapixels, "larger photos are refused before they are decoded")
      ->capture_default_str();
  command.add_flag("--fresh", run.fresh, "measure every photo again, whatever an earlier run kept in the folder");
  command
      .add_option("--memory-mb", run.memory_mb,
                  "most that decoded photos may take in memory; fewer are in work at a time then")
      ->capture_default_str();
  command.add_option("--threads", run.threads, "photos in work at the same time; 0 for one each core")
      ->capture_default_str();
  command.add_option("--pictures", arguments.pictures,
                     "folder for a picture of every stage, to see where a measurement went wrong");
  command.add_option("--write-job", arguments.write_job, "write a first job file of what was found, ready to edit");
  command.add_flag("--quiet", arguments.quiet, "no progress and no summary");
  command.add_flag("--json", arguments.json, "print results.json instead of the summary");
}
}  // namespace

survey::TapeDistance parse_tape(const std::string& text) {
  std::vector<std::string> parts = CLI::detail::split(text, ',');
  survey::TapeDistance tape;
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

}  // namespace chalkfold::tools
