#include "cli/show.h"

#include <optional>

#include "mamelon/sheet.h"
#include "mamelon/solve.h"

#include "cli/arguments.h"
#include "cli/print.h"
#include "cli/progress.h"
#include "cli/shared_options.h"
#include "cli/verbs.h"

namespace mamelon::cli {

void add_show_options(CLI::App& verb, ShowOptions& options, bool saves) {
  add_value(verb, "--top", "N", options.top, "Tabs to print for each zone");
  add_sheet_option(verb, options.sheet);
  if (saves) {
    add_value(verb, "--save", "FILE", options.save,
              "Write the case, with its photos as they are, to this file (zip); `mamelon "
              "solve` takes it up again");
  }
  add_json_flag(verb, options.json);
}

void check_show_options(const ShowOptions& options) {
  (void)whole_argument("--top", options.top, 1, 1000);
  check_output(options.sheet);
  check_output(options.save);
}

int solve_and_show(const Case& given, const ShowOptions& options) {
  const auto top = static_cast<std::size_t>(whole_argument("--top", options.top, 1, 1000));
  std::optional<Progress> progress(std::in_place);
  const Report report = solve(given, [&](double share, std::string_view step) {
    progress->at(share, std::string(step));
    return true;
  });
  progress.reset();
  if (!options.save.empty()) write_new_file("--save", options.save, to_zip(given));
  if (!options.sheet.empty()) write_sheet(options.sheet, sheet_html(report));
  print_warnings(report);
  if (options.json) {
    print(to_json(report));
  } else {
    const Terminal terminal = Terminal::of_stdout();
    print(shade_text(terminal, report, top) + plan_text(terminal, report) +
          cautions_text(terminal));
  }
  return is_answered(report) ? exit_code::done : exit_code::negative;
}

}  // namespace mamelon::cli
