// `mamelon tabs crosswalk`: the best recipe of pastes for every tab of a set.

#include <string>
#include <vector>

#include "mamelon/exchange.h"
#include "mamelon/sheet.h"
#include "mamelon/solve.h"

#include "base/numbers.h"
#include "cli/arguments.h"
#include "cli/case_options.h"
#include "cli/print.h"
#include "cli/verbs.h"

namespace mamelon::cli {
namespace {

using detail::format_fixed;

struct Options {
  std::string tabs;
  RestorationOptions restoration;
  std::string weights = "1:1:1";
  std::string csv;
  std::string sheet;
  bool replace = false;
  bool plain_csv = false;
  bool json = false;
};

std::string crosswalk_text(const Terminal& terminal, const CrosswalkReport& report) {
  std::vector<std::vector<std::string>> rows;
  for (std::size_t r = 0; r < report.rows.size(); ++r) {
    const CrosswalkRow& row = report.rows[r];
    for (std::size_t i = 0; i < row.plans.size(); ++i) {
      const Plan& plan = row.plans[i];
      rows.push_back(
          {i == 0 ? row.tab : "",
           i == 0 ? swatch(terminal, report.tabs.tabs[r].lab.value, report.tabs.viewing) : "",
           i == row.recommended ? "→" : "", layers_in_words(plan), format_fixed(plan.de00, 2),
           format_fixed(plan.de00_rms, 2), in_words(grade(plan.de00))});
    }
  }
  return paragraph(terminal, "Recipes from the floor outward for " +
                                 format_fixed(report.request.depth_mm, 1) +
                                 " mm; the arrow marks the one to take") +
         table(terminal, {"tab", "", "", "pastes", right("ΔE00"), right("expected"), "grade"},
               rows);
}

int run(const Options& options) {
  check_output(options.sheet);
  TabSet tabs = read_tab_set(options.tabs);
  PhotoOptionsText photo;
  photo.viewing.viewing = to_string(tabs.viewing);
  Case given{.viewing = tabs.viewing};
  given.match.weights = weights_argument(options.weights);
  given.restoration = restoration_of(options.restoration, photo);
  given.tabs = std::move(tabs);
  const CrosswalkReport report = solve_crosswalk(given);
  if (!options.csv.empty()) {
    write_new_file("--csv", options.csv,
                   options.plain_csv ? to_csv(report) : to_spreadsheet(report), options.replace);
  }
  if (!options.sheet.empty()) write_sheet(options.sheet, sheet_html(report));
  print_warnings(report.warnings);
  if (options.json) {
    print(to_json(report));
  } else {
    const Terminal terminal = Terminal::of_stdout();
    print(crosswalk_text(terminal, report) + cautions_text(terminal));
  }
  return exit_code::done;
}

}  // namespace

void add_crosswalk(CLI::App& tabs, Action& chosen) {
  auto [verb, options] =
      add_verb(tabs, "crosswalk",
               "The best recipe of pastes for every tab, at one depth over one floor", chosen, run);
  add_needed(verb, "TABS", "FILE", options.tabs, "The tab set (JSON document)");
  add_restoration_options(verb, options.restoration, false);
  add_weights_option(verb, options.weights);
  add_value(verb, "--csv", "FILE", options.csv, "Write the table (CSV) to this file");
  add_sheet_option(verb, options.sheet);
  add_replace_flag(verb, options.replace);
  add_plain_csv_flag(verb, options.plain_csv);
  add_json_flag(verb, options.json);
  verb.footer(
      "Example:\n  mamelon tabs crosswalk data/tabs/orchard16.json --pastes "
      "data/pastes/orchard10.json --floor data/floors/sound_dentine.csv --depth 2 --csv "
      "crosswalk.csv");
}

}  // namespace mamelon::cli
