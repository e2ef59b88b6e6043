#include "cli/rank.h"

#include "mamelon/sheet.h"

#include "cli/arguments.h"
#include "cli/print.h"
#include "cli/shared_options.h"

namespace mamelon::cli {

void add_input_options(CLI::App& verb, RankOptions& options) {
  verb.add_option(
          "INPUT", options.measure.input,
          "Photo (JPEG, PNG, TIFF, camera raw), table of readings (CSV, ISO 28178 text, CxF3), or "
          "a colour as L,a,b or with its standard deviations L,a,b,sdL,sda,sdb")
      ->required();
  verb.add_option("--tabs", options.tabs, "Your measured tabs (JSON document)")
      ->type_name("FILE")
      ->required();
}

void add_rank_options(CLI::App& verb, RankOptions& options) {
  add_measure_options(verb, options.measure);
  add_weights_option(verb, options.weights);
  verb.add_option("--top", options.top, "Tabs to print for each zone")
      ->type_name("N")
      ->capture_default_str();
  add_sheet_option(verb, options.sheet);
  add_json_flag(verb, options.json);
}

Ranking::Ranking(const RankOptions& options, Progress& progress)
    : match_options{.weights = weights_argument(options.weights)},
      top(static_cast<std::size_t>(number_argument("--top", options.top, 1, 1000))),
      tabs(read_tab_set(options.tabs)),
      measurement(measure(options.measure, tabs, progress)),
      report(report_of(options.measure, measurement)) {
  report.tabs = &tabs;
  progress.at(0.7, "ranking the tabs");
  report.matches = match_all(report.readings, tabs, match_options);
}

void deliver(const RankOptions& options, const Report& report,
             const std::function<std::string(const Terminal&)>& text) {
  if (!options.sheet.empty()) write_file_atomically(options.sheet, sheet_html(report));
  print_warnings(report);
  print(options.json ? to_json(report) : text(Terminal::of_stdout()));
}

}  // namespace mamelon::cli
