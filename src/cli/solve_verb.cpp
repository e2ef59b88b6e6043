// `mamelon solve`: a case from its file, as `shade` or `plan` wrote it.

#include <memory>
#include <string>

#include "mamelon/files.h"

#include "cli/show.h"
#include "cli/verbs.h"

namespace mamelon::cli {
namespace {

struct Options {
  std::string file;
  ShowOptions show;
};

int run(const Options& options) {
  check_show_options(options.show);
  return solve_and_show(read_case(options.file), options.show);
}

}  // namespace

void add_solve(CLI::App& app, Action& chosen) {
  const auto options = std::make_shared<Options>();
  CLI::App* verb =
      app.add_subcommand("solve", "A saved case again: the same case, the same answer");
  verb->add_option("CASE", options->file, "The case (zip), as --save of shade or plan writes it")
      ->type_name("FILE")
      ->required();
  add_show_options(*verb, options->show, false);
  verb->footer(
      "Exit codes are those of shade and plan.\n\nExample:\n  mamelon solve case.zip --sheet "
      "sheet.html");
  verb->callback([options, &chosen] { chosen = [options] { return run(*options); }; });
}

}  // namespace mamelon::cli
