// `mamelon lab`: readings or spectra to CIELAB.

#include <memory>
#include <string>
#include <vector>

#include "base/numbers.h"
#include "cli/arguments.h"
#include "cli/print.h"
#include "cli/terminal.h"
#include "cli/verbs.h"
#include "faces/json_write.h"

namespace mamelon::cli {
namespace {

struct Options {
  std::string input;
  std::string viewing = "D65/2";
  bool json = false;
};

int run(const Options& options) {
  const Viewing viewing = viewing_argument(options.viewing);
  const Xyz white = white_point(viewing);
  const std::vector<Reading> readings = read_table(options.input, viewing);
  if (options.json) {
    detail::Json items = detail::Json::array();
    for (const Reading& reading : readings) {
      const Xyz xyz =
          reading.curve ? to_xyz(*reading.curve, viewing) : to_xyz(reading.lab.value, white);
      items.push_back(detail::Json{{"label", reading.label},
                                   {"xyz", detail::json_of(xyz)},
                                   {"lab", detail::json_of(reading.lab.value)}});
    }
    print(detail::dump(detail::Json{{"readings", std::move(items)}}));
    return exit_code::done;
  }
  const Terminal terminal = Terminal::of_stdout();
  std::vector<std::vector<std::string>> rows;
  for (const Reading& reading : readings) {
    const Lab& lab = reading.lab.value;
    const Lch lch = to_lch(lab);
    rows.push_back({name_of(reading), swatch(terminal, lab, viewing),
                    detail::format_fixed(lab.l, 2), detail::format_fixed(lab.a, 2),
                    detail::format_fixed(lab.b, 2), detail::format_fixed(lch.c, 2),
                    detail::format_fixed(lch.h_deg, 1)});
  }
  print("CIELAB under " + to_string(viewing) + "; hue angle h in degrees\n" +
        table(terminal,
              {{"", Align::left},
               {"", Align::left},
               {"L*", Align::right},
               {"a*", Align::right},
               {"b*", Align::right},
               {"C*", Align::right},
               {"h", Align::right}},
              rows));
  return exit_code::done;
}

}  // namespace

void add_lab(CLI::App& app, Action& chosen) {
  const auto options = std::make_shared<Options>();
  CLI::App* verb = app.add_subcommand("lab", "Readings or spectra to CIELAB");
  verb->add_option("TABLE", options->input,
                   "CSV with a header row: label,L,a,b or label,380,390,… (nm; fraction 0–1)")
      ->required();
  verb->add_option("--viewing", options->viewing, "Illuminant and observer (2 or 10 degrees)")
      ->type_name("ILL/OBS")
      ->capture_default_str();
  verb->add_flag("--json", options->json, "One JSON document on standard output");
  verb->footer("Example:\n  mamelon lab readings.csv --viewing D50/2");
  verb->callback([options, &chosen] { chosen = [options] { return run(*options); }; });
}

}  // namespace mamelon::cli
