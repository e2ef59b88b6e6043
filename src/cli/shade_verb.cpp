// `mamelon shade`: photo or readings to ranked tabs per zone.

#include <algorithm>
#include <memory>
#include <string>

#include "mamelon/sheet.h"

#include "cli/arguments.h"
#include "cli/measure.h"
#include "cli/print.h"
#include "cli/terminal.h"
#include "cli/verbs.h"

namespace mamelon::cli {
namespace {

struct Options {
  MeasureOptions measure;
  std::string tabs;
  std::string weights = "1:1:1";
  std::string top = "5";
  std::string sheet;
  bool json = false;
};

int run(const Options& options) {
  const auto top = static_cast<std::size_t>(number_argument("--top", options.top, 1, 1000));
  const MatchOptions match_options{.weights = weights_argument(options.weights)};
  const TabSet tabs = read_tab_set(options.tabs);
  const Measurement measurement = measure(options.measure);
  Report report = report_of(options.measure, measurement);
  report.tabs = &tabs;
  for (const Reading& reading : report.readings) {
    report.matches.push_back(match(reading, tabs, match_options));
  }
  const auto far_off = std::find_if(report.matches.begin(), report.matches.end(), [](auto& m) {
    return m.ranked.front().de00 > threshold::acceptable_de00;
  });
  if (far_off != report.matches.end()) {
    const auto i = static_cast<std::size_t>(far_off - report.matches.begin());
    report.warnings.push_back("no tab is within the acceptance threshold of " +
                              name_of(report.readings[i]) + ": the nearest is " +
                              far_off->ranked.front().tab);
  }
  if (!options.sheet.empty()) write_file_atomically(options.sheet, sheet_html(report));
  print_warnings(report);
  if (options.json) {
    print(to_json(report));
  } else {
    const Terminal terminal = Terminal::of_stdout();
    print(shade_text(terminal, report, top) + cautions_text(terminal));
  }
  return far_off == report.matches.end() ? exit_code::done : exit_code::negative;
}

}  // namespace

void add_shade(CLI::App& app, Action& chosen) {
  const auto options = std::make_shared<Options>();
  CLI::App* verb = app.add_subcommand("shade", "A photo or readings to ranked tabs per zone");
  verb->add_option("INPUT", options->measure.input,
                   "Photo (JPEG, PNG, TIFF) or table of readings (CSV)")
      ->required();
  verb->add_option("--tabs", options->tabs, "Your measured tabs (JSON document)")
      ->type_name("FILE")
      ->required();
  add_measure_options(*verb, options->measure);
  verb->add_option("--weights", options->weights, "kL:kC:kH of CIEDE2000; 1:1:1 or 2:1:1")
      ->type_name("L:C:H")
      ->capture_default_str();
  verb->add_option("--top", options->top, "Tabs to print for each zone")
      ->type_name("N")
      ->capture_default_str();
  verb->add_option("--sheet", options->sheet, "Write the sheet (HTML) to this file")
      ->type_name("FILE");
  verb->add_flag("--json", options->json, "One JSON document on standard output");
  verb->footer(
      "The exit code is 1 when a zone has no tab within the acceptance threshold.\n\nExample:\n"
      "  mamelon shade data/photos/front_teeth.jpg --card data/cards/tooth20.json "
      "--tabs data/tabs/orchard16.json --sheet shade.html");
  verb->callback([options, &chosen] { chosen = [options] { return run(*options); }; });
}

}  // namespace mamelon::cli
