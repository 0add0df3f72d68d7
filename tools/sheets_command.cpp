// SPDX-License-Identifier: Apache-2.0
#include "tools/sheets_command.h"

#include <fmt/format.h>

#include <filesystem>
#include <map>
#include <memory>
#include <string>

#include "calib/sheet_pages.h"
#include "pipeline/common/error.h"

namespace chalkfold::tools {

namespace {
struct SheetsArguments {
  calib::SheetPagesOptions pages;
  std::string paper = "a4";
  std::filesystem::path out;
};

calib::Paper paper_from_name(const std::string& name) {
  const std::map<std::string, calib::Paper> papers = {{"a4", calib::Paper::a4}, {"letter", calib::Paper::letter}};
  const auto found = papers.find(CLI::detail::to_lower(name));
  if (found == papers.end()) throw UsageError("--paper " + name + ": must be a4 or letter");
  return found->second;
}

void write_sheets(SheetsArguments arguments) {
  arguments.pages.paper = paper_from_name(arguments.paper);
  calib::write_sheet_pages(arguments.out, arguments.pages);
  fmt::print(
      "wrote {}\n"
      "Next: print it at 100 % (\"actual size\", not \"fit to page\"), single-sided, and follow its first page.\n"
      "Measure both check bars of one printed sheet with a steel rule; give what you read to\n"
      "  chalkfold run PHOTO... --out OUT --long-bar-mm 240.0 --short-bar-mm 170.0\n",
      arguments.out.string());
}
}  // namespace

CLI::App* add_sheets_command(CLI::App& app) {
  CLI::App* command = app.add_subcommand("sheets", "Write the calibration sheets and tags to print (PDF)");
  const auto arguments = std::make_shared<SheetsArguments>();
  command->add_option("--paper", arguments->paper, "a4 or letter")->capture_default_str();
  command->add_option("--sheets", arguments->pages.sheets, "how many sheets, 1 to 20")->capture_default_str();
  command->add_option("--tags", arguments->pages.tags, "how many tags, 0 to 99")->capture_default_str();
  command->add_option("--out", arguments->out, "PDF file to write")->required();
  command->callback([arguments] { write_sheets(*arguments); });
  return command;
}

}  // namespace chalkfold::tools
