// SPDX-License-Identifier: Apache-2.0
#include "tools/compare_command.h"

#include <fmt/format.h>

#include <cstdio>
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "pipeline/common/utf8.h"
#include "pipeline/common/write_file.h"
#include "pipeline/job/files/write_files.h"
#include "pipeline/output/json/compare_json.h"
#include "pipeline/output/reference/reference_file.h"
#include "pipeline/output/report/compare_report.h"
#include "pipeline/output/report/report.h"

namespace chalkfold::tools {

namespace {
struct CompareArguments {
  std::vector<std::string> shapes;
  std::optional<double> length, width;
  std::vector<std::string> between;
  std::string out, line = "cut";
  draft::ChangeOptions change;
  bool json = false, quiet = false;
};

std::vector<double> numbers(const std::string& text) {
  std::vector<double> out;
  for (const std::string& part : CLI::detail::split(text, ',')) {
    double value = 0;
    if (!CLI::detail::lexical_cast(part, value)) return {};
    out.push_back(value);
  }
  return out;
}

draft::GivenDistance parse_between(const std::string& text) {
  const std::vector<double> n = numbers(text);
  if (n.size() != 5 || !(n[4] > 0))
    throw UsageError(
        fmt::format("--between {}: must be two places on the measured panel and their distance before, in millimetres: "
                    "X1,Y1,X2,Y2,MM",
                    plain_text(text)));
  return {{n[0], n[1]}, {n[2], n[3]}, n[4]};
}

output::ReadShape read_named(const std::string& file, draft::PieceLine line) {
  return output::read_shape(job::read_named_file(file), plain_text(file), line);
}

/// The reference, when it is numbers: in place of a file, or by two options.
std::optional<draft::NominalSize> given_size(const CompareArguments& a) {
  if (a.length.has_value() != a.width.has_value()) throw UsageError("give both --length-mm and --width-mm, or neither");
  if (a.shapes.size() == (a.length ? 2U : 1U))
    throw UsageError(a.length ? "with --length-mm and --width-mm name the measured panel alone"
                              : "name what the panel is compared with, and then the measured panel; or one panel with "
                                "--length-mm and --width-mm");
  if (a.length) return output::checked_size(*a.length, *a.width);
  std::error_code none;
  if (std::filesystem::exists(a.shapes[0], none)) return std::nullopt;
  return output::parse_size(a.shapes[0]);
}

/// In the words of the command line; the stage checks the rest.
void check_arguments(const draft::ChangeOptions& change) {
  if (change.grain_deg && !(std::abs(*change.grain_deg) <= 360))
    throw UsageError(fmt::format("--grain-deg {:g}: must be from -360 to 360", *change.grain_deg));
  if (change.bench && !(*change.bench >= 50 && *change.bench <= 5000))
    throw UsageError(fmt::format("--bench-mm {:g}: must be from 50 to 5000 mm", *change.bench));
}

void write_files(const std::filesystem::path& out, const draft::DimensionalChange& change) {
  make_folder(out);
  const std::string svg = output::compare_svg(change);
  std::vector<job::OutputFile> files = {{"compare.json", output::compare_json_text(change)}};
  if (!svg.empty()) files.push_back({"compare.svg", svg});
  files.push_back(
      {"compare.html", output::compare_html(change, svg.empty() ? "" : "compare.svg", output::footer_time())});
  job::write_all_or_none(out, files);
}

void print_whole(const std::string& text) {
  if (std::fwrite(text.data(), 1, text.size(), stdout) != text.size() || std::fflush(stdout) != 0)
    throw FileError("cannot write the results to standard output; give --out as well");
}

ExitCode compare(const CompareArguments& a) {
  check_arguments(a.change);
  draft::ChangeOptions options = a.change;
  for (const std::string& text : a.between) options.given.push_back(parse_between(text));
  const draft::PieceLine line = CLI::detail::to_lower(a.line) == "sew" ? draft::PieceLine::sew : draft::PieceLine::cut;
  const std::optional<draft::NominalSize> size = given_size(a);
  const output::ReadShape measured = read_named(a.shapes.back(), line);
  std::vector<std::string> remarks{measured.remark};
  draft::DimensionalChange change;
  if (size) {
    change = output::compared_with(*size, measured.shape, options);
  } else {
    const output::ReadShape reference = read_named(a.shapes[0], line);
    remarks.push_back(reference.remark);
    change = output::compared_with(reference.shape, measured.shape, options);
  }
  for (const std::string& remark : remarks)
    if (!remark.empty())
      change.faults.push_back(
          {"drawing-assumed",
           Severity::warning,
           remark,
           "Compare a length in the table with what you know; export the drawing again with its unit.",
           {},
           change.measured});
  if (!a.out.empty()) write_files(a.out, change);
  if (a.json)
    print_whole(output::compare_json_text(change));
  else if (!a.quiet)
    print_whole(output::compare_text(change) +
                (a.out.empty() ? ""
                               : fmt::format("\nopen {}\n",
                                             plain_text((std::filesystem::path(a.out) / "compare.html").string()))));
  return change.done ? ExitCode::all_measured : ExitCode::some_refused;
}
}  // namespace

CLI::App* add_compare_command(CLI::App& app, ExitCode& exit_code) {
  CLI::App* command = app.add_subcommand("compare", "Dimensional change of a measured panel against a reference");
  const auto a = std::make_shared<CompareArguments>();
  command
      ->add_option("REFERENCE MEASURED", a->shapes,
                   "each a measured/NAME.json, a pieces/NAME.json, a DXF or an SVG; REFERENCE may be a size instead, "
                   "length along the grain by width across it: 600x450")
      ->required()
      ->expected(1, 2);
  command->add_option("--length-mm", a->length, "instead of REFERENCE: the length along the grain");
  command->add_option("--width-mm", a->width, "with it: the width across the grain");
  command->add_option("--out", a->out, "folder for compare.json, compare.svg and compare.html; made if need be");
  command->add_option("--grain-deg", a->change.grain_deg,
                      "direction of the grain on the measured panel, counter-clockwise from its drawing's right; "
                      "otherwise its grain arrow, the reference's, or the longer side");
  command->add_option("--line", a->line, "which line of a piece is compared")
      ->check(CLI::IsMember({"cut", "sew"}, CLI::ignore_case))
      ->capture_default_str();
  command->add_flag("--other-side", a->change.other_side,
                    "the reference shows the panel's other side: mirror it before comparing");
  command->add_option(
      "--bench-mm", a->change.bench,
      "how far apart bench marks (awl holes, chalked crosses) were drawn: distances near it are measured");
  command
      ->add_option(
          "--between", a->between,
          "a distance you know from before: X1,Y1,X2,Y2,MM, places as in the measured file; may be given again")
      ->allow_extra_args(false);
  command->add_flag("--json", a->json, "print compare.json instead of the table");
  command->add_flag("--quiet", a->quiet, "print nothing");
  command->callback([a, &exit_code] { exit_code = compare(*a); });
  return command;
}

}  // namespace chalkfold::tools
