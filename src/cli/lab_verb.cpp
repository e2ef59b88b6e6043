// `mamelon lab`: readings or spectra to CIELAB.

#include <filesystem>
#include <iostream>
#include <optional>
#include <string>
#include <vector>

#include "mamelon/exchange.h"

#include "base/numbers.h"
#include "cli/arguments.h"
#include "cli/print.h"
#include "cli/shared_options.h"
#include "cli/terminal.h"
#include "cli/verbs.h"

namespace mamelon::cli {
namespace {

struct Options {
  std::string input;
  ViewingOptions viewing;
  std::string out;
  bool replace = false;
  bool explain = false;
  bool json = false;
};

void write_readings(const Options& options, const std::vector<RepeatReading>& readings) {
  const std::string& file = options.out;
  const std::string extension = std::filesystem::path(file).extension().string();
  if (extension == ".cxf" || extension == ".xml") {
    write_new_file("--out", file, repeats_to_cxf(readings), options.replace);
  } else if (extension == ".txt" || extension == ".cgats") {
    write_new_file("--out", file, repeats_to_cgats(readings), options.replace);
  } else {
    throw ArgumentError("--out: expected a name that ends in .cxf, .xml, .txt or .cgats, got \"" +
                        file + "\"");
  }
}

// Row by row: the text of a million rows would need more memory than they do.
void write_text(const ColourTable& table) {
  const auto write = [](const std::string& text) { std::cout << shown(text); };
  const Terminal terminal = Terminal::of_stdout();
  const auto row = [&](std::size_t i) -> std::vector<std::string> {
    const Lab& lab = table.lab[i];
    const Lch lch = to_lch(lab);
    const std::string zone =
        table.zones.empty() || table.zones[i].empty() ? "" : ", " + table.zones[i];
    return {table.labels[i] + zone,
            swatch(terminal, lab, table.viewing),
            detail::format_fixed(lab.l, 2),
            detail::format_fixed(lab.a, 2),
            detail::format_fixed(lab.b, 2),
            detail::format_fixed(lch.c, 2),
            detail::format_fixed(lch.h_deg, 1)};
  };
  write(
      paragraph(terminal, "CIELAB under " + to_string(table.viewing) + "; hue angle h in degrees"));
  write_table(terminal,
              {.columns = {"", "", right("L*"), right("a*"), right("b*"), right("C*"), right("h")},
               .count = table.lab.size(),
               .row = row},
              write);
}

int run(const Options& options) {
  const std::optional<Viewing> given = given_viewing(options.viewing);
  if (options.explain) {
    print(ColourRows(options.input, given, table_options(options.viewing)).columns_in_words());
    return exit_code::done;
  }
  if (!options.out.empty()) {
    write_readings(options,
                   read_repeats(options.input, given, table_options(options.viewing), false));
  }
  const ColourTable table = read_colours(options.input, given, table_options(options.viewing));
  print_warnings(table.warnings);
  if (options.json) {
    write_json(std::cout, table);
  } else {
    write_text(table);
  }
  print("");
  return exit_code::done;
}

}  // namespace

void add_lab(CLI::App& app, Action& chosen) {
  auto [verb, options] = add_verb(app, "lab", "Readings or spectra to CIELAB", chosen, run);
  verb.add_option("TABLE", options.input,
                  "CSV with a header row: label,L,a,b or label,380,390,… (nm; fraction 0–1, or % "
                  "in the header); ISO 28178 (CGATS.17) text; CxF3")
      ->required();
  add_viewing_options(verb, options.viewing, false);
  verb.add_flag("--explain", options.explain,
                "Say how each column of a CSV is understood, and stop");
  add_value(verb, "--out", "FILE", options.out,
            "Also write the readings as CxF3 (.cxf, .xml) or ISO 28178 text (.txt, .cgats)");
  add_replace_flag(verb, options.replace);
  add_json_flag(verb, options.json);
  verb.footer("Example:\n  mamelon lab readings.csv --viewing D50/2");
}

}  // namespace mamelon::cli
