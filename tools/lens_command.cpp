// SPDX-License-Identifier: Apache-2.0
#include "tools/lens_command.h"

#include <fmt/format.h>
#include <unistd.h>

#include <cmath>
#include <memory>

#include "pipeline/common/utf8.h"
#include "pipeline/common/write_file.h"
#include "pipeline/job/lens_job.h"
#include "tools/terminal_progress.h"

namespace chalkfold::tools {
namespace {

struct LensArguments {
  std::vector<std::string> photos;
  std::string out;
  job::LensOptions lens;
  std::optional<double> long_bar, short_bar;
  bool quiet = false;
};

void tell(const Fault& fault) {
  fmt::print(stderr, "{}: {}{}\n    what to do: {}\n", to_string(fault.severity),
             fault.photo.empty() ? "" : "photo " + plain_text(fault.photo) + ": ", fault.seen, fault.remedy);
}

ExitCode write_profile(LensArguments arguments) {
  arguments.lens.survey.print.long_bar_mm = arguments.long_bar;
  arguments.lens.survey.print.short_bar_mm = arguments.short_bar;
  listen_for_stop();
  QuietProgress none;
  TerminalProgress shown(stderr, ::isatty(STDERR_FILENO) == 1);
  const std::vector<std::filesystem::path> photos(arguments.photos.begin(), arguments.photos.end());
  const job::LensResult result =
      job::lens_from_photos(photos, arguments.lens, arguments.quiet ? static_cast<job::Progress&>(none) : shown);
  for (const Fault& fault : result.faults)
    if (!arguments.quiet || fault.severity == Severity::refusal) tell(fault);
  if (!result.profile) {
    fmt::print(stderr, "no lens profile was written\n");
    return ExitCode::some_refused;
  }
  const calib::LensProfile& p = *result.profile;
  write_file_atomically(arguments.out, calib::lens_profile_json(p));
  if (arguments.quiet) return ExitCode::all_measured;
  fmt::print(
      "lens of {} {}, {} x {} px, from {} photos: focal length {:.1f} px (U {:.2f} %), distortion at the corner {:.1f} "
      "px (U {:.1f} px)\n"
      "wrote {}\nNext: chalkfold run PHOTO... --lens {} --out OUT\n",
      plain_text(p.make), plain_text(p.model), p.lens.width, p.lens.height, p.photos, p.lens.focal_px,
      200 * std::sqrt(p.covariance(0, 0)) / p.lens.focal_px,
      calib::radial_distortion_px(p.lens, 0.5 * std::hypot(p.lens.width, p.lens.height) / p.lens.focal_px),
      2 * calib::corner_distortion_sigma_px(p), plain_text(arguments.out), plain_text(arguments.out));
  return ExitCode::all_measured;
}

}  // namespace

CLI::App* add_lens_command(CLI::App& app, ExitCode& exit_code) {
  CLI::App* command =
      app.add_subcommand("lens", "Write a phone's lens profile from photos of the sheets (optional; makes U smaller)");
  const auto arguments = std::make_shared<LensArguments>();
  command
      ->add_option("PHOTO", arguments->photos,
                   "twelve or so photos of four sheets, leaning and turned, sheets into the corners")
      ->required();
  command->add_option("--out", arguments->out, "profile to write, PHONE.lens.json")->required();
  command->add_option("--long-bar-mm", arguments->long_bar, "what a steel rule says of the sheets' long check bar")
      ->check(CLI::Range(204.0, 276.0));
  command->add_option("--short-bar-mm", arguments->short_bar, "the same of the short check bar")
      ->check(CLI::Range(144.5, 195.5));
  command->add_flag("--quiet", arguments->quiet, "no progress and no summary");
  command->callback([arguments, &exit_code] { exit_code = write_profile(*arguments); });
  return command;
}

}  // namespace chalkfold::tools
