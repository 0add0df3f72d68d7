// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <cstdio>

#include "pipeline/common/error.h"
#include "pipeline/common/nearest_name.h"
#include "pipeline/common/utf8.h"
#include "pipeline/common/version.h"
#include "tools/compare_command.h"
#include "tools/lens_command.h"
#include "tools/run_command.h"
#include "tools/sheets_command.h"
#include "tools/told_failure.h"

namespace {
using chalkfold::ExitCode;

int code(ExitCode exit_code) { return static_cast<int>(exit_code); }

std::vector<std::string> long_options(const CLI::App& command) {
  std::vector<std::string> names;
  for (const CLI::Option* option : command.get_options()) {
    for (const std::string& name : option->get_lnames()) names.push_back("--" + name);
  }
  return names;
}

std::vector<std::string> subcommand_names(const CLI::App& app) {
  std::vector<std::string> names;
  for (const CLI::App* command : app.get_subcommands([](const CLI::App*) { return true; }))
    names.push_back(command->get_name());
  return names;
}

std::string with_nearest(const std::string& message, const std::string& given, const std::vector<std::string>& known) {
  const std::string nearest = chalkfold::nearest_name(given, known);
  return nearest.empty() ? message : message + "; did you mean " + nearest + "?";
}

/// What the user got wrong, in one line. An unknown word is named before what is missing: it is mostly the missing
/// option misspelt.
std::string explain(const CLI::App& app, const CLI::ParseError& error) {
  const std::vector<CLI::App*> parsed = app.get_subcommands();
  const CLI::App& command = parsed.empty() ? app : *parsed.front();
  for (const std::string& word : app.remaining(true)) {
    const std::string shown = chalkfold::plain_text(word);
    if (word.starts_with("-"))
      return with_nearest("unknown option " + shown, word.substr(0, word.find('=')), long_options(command));
    if (parsed.empty()) return with_nearest("unknown command " + shown, word, subcommand_names(app));
  }
  return chalkfold::plain_text(error.what());
}

int usage_failure(const CLI::App& app, const CLI::ParseError& error) {
  const std::vector<CLI::App*> parsed = app.get_subcommands();
  const std::string help = parsed.empty() ? "chalkfold --help" : "chalkfold " + parsed.front()->get_name() + " --help";
  fmt::print(stderr, "chalkfold: {}\nSee {}\n", explain(app, error), help);
  return code(ExitCode::usage);
}

int run_program(int argc, char** argv) {
  CLI::App app("True outlines of flat seat-cover panels from phone photographs", "chalkfold");
  app.set_version_flag("--version", "chalkfold " + chalkfold::program_version());
  app.require_subcommand(1);
  ExitCode exit_code = ExitCode::all_measured;
  chalkfold::tools::add_sheets_command(app);
  chalkfold::tools::add_run_command(app, exit_code);
  chalkfold::tools::add_lens_command(app, exit_code);
  chalkfold::tools::add_compare_command(app, exit_code);
  if (argc <= 1) {
    fmt::print(stderr, "{}", app.help());
    return code(ExitCode::usage);
  }
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    if (error.get_exit_code() == 0) return app.exit(error);  // --help, --version
    return usage_failure(app, error);
  }
  return code(exit_code);
}
}  // namespace

int main(int argc, char** argv) {
  return chalkfold::tools::told_failure([&] { return run_program(argc, argv); });
}
