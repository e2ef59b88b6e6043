// `mamelon lab`: readings or spectra to CIELAB.

#include <filesystem>
#include <memory>
#include <optional>
#include <sstream>
#include <string>
#include <vector>

#include "base/numbers.h"
#include "cli/arguments.h"
#include "cli/print.h"
#include "cli/shared_options.h"
#include "cli/terminal.h"
#include "cli/verbs.h"
#include "io/json_write.h"
#include "io/table.h"

namespace mamelon::cli {
namespace {

struct Options {
  std::string input;
  ViewingOptions viewing;
  std::string out;
  bool explain = false;
  bool json = false;
};

void write_readings(const std::string& file, const std::vector<Reading>& readings) {
  const std::string extension = std::filesystem::path(file).extension().string();
  if (extension == ".cxf" || extension == ".xml") {
    write_file_atomically(file, to_cxf(readings));
  } else if (extension == ".txt" || extension == ".cgats") {
    write_file_atomically(file, to_cgats(readings));
  } else {
    throw ArgumentError("--out: expected a name that ends in .cxf, .xml, .txt or .cgats, got \"" +
                        file + "\"");
  }
}

int explain(const Options& options) {
  std::istringstream in(read_file(options.input));
  const detail::TableReader reader(in, options.input, viewing_of(options.viewing),
                                   table_options(options.viewing));
  print(detail::explain(reader));
  return exit_code::done;
}

int run(const Options& options) {
  if (options.explain) return explain(options);
  const std::optional<Viewing> given = given_viewing(options.viewing);
  const std::vector<Reading> readings =
      read_measurements(options.input, given, table_options(options.viewing));
  for (const Reading& reading : readings) {
    check_same_viewing(readings.front().viewing, reading.viewing, options.input);
  }
  const Viewing& viewing = readings.front().viewing;
  const Xyz white = white_point(viewing);
  if (!options.out.empty()) write_readings(options.out, readings);
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
  print(wrapped("CIELAB under " + to_string(viewing) + "; hue angle h in degrees", terminal.width,
                2) +
        "\n" +
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
                   "CSV with a header row: label,L,a,b or label,380,390,… (nm; fraction 0–1, or % "
                   "in the header); ISO 28178 (CGATS.17) text; CxF3")
      ->required();
  add_viewing_options(*verb, options->viewing, false);
  verb->add_flag("--explain", options->explain,
                 "Say how each column of a CSV is understood, and stop");
  verb->add_option("--out", options->out,
                   "Also write the readings as CxF3 (.cxf, .xml) or ISO 28178 text (.txt, .cgats)")
      ->type_name("FILE");
  add_json_flag(*verb, options->json);
  verb->footer("Example:\n  mamelon lab readings.csv --viewing D50/2");
  verb->callback([options, &chosen] { chosen = [options] { return run(*options); }; });
}

}  // namespace mamelon::cli
