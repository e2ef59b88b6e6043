// `mamelon paste shift`: states how the colour of a paste changes after it was measured.

#include <algorithm>
#include <filesystem>
#include <string>
#include <system_error>
#include <vector>

#include "mamelon/mamelon.h"

#include "base/listing.h"
#include "base/numbers.h"
#include "cli/arguments.h"
#include "cli/print.h"
#include "cli/shared_options.h"
#include "cli/terminal.h"
#include "cli/verbs.h"

namespace mamelon::cli {
namespace {

struct ShiftOptions {
  std::string pastes, paste, name, change, source, out;
  std::string sd = "0,0,0";
  std::string thickness = "2";
  bool replace = false;
};

Vec3 three(const std::string& option, const std::string& text) {
  const std::vector<double> values = list_argument(option, text, 3);
  return {values[0], values[1], values[2]};
}

int state_shift(const ShiftOptions& options) {
  PasteSet set = read_paste_set(options.pastes);
  Paste& paste = set.pastes[paste_argument("--paste", set, options.paste)];
  const ColourShift shift{
      .name = options.name,
      .change = three("--change", options.change),
      .change_sd = three("--sd", options.sd),
      .thickness_mm = number_argument("--thickness", options.thickness, 0.1, 30),
      .source = options.source};
  const auto same = std::ranges::find(paste.shifts, shift.name, &ColourShift::name);
  if (same == paste.shifts.end()) {
    paste.shifts.push_back(shift);
  } else if (options.replace) {
    *same = shift;
  } else {
    throw ArgumentError("--name: the paste states a shift \"" + shift.name +
                        "\" already; choose another name, or add --replace to put this one in its "
                        "place");
  }
  check_paste_set(set);
  // Whether any constants give it is said now, not when a plan asks for it.
  (void)shifted(paste, shift.name);
  std::error_code unknown;
  const bool in_place = std::filesystem::equivalent(options.out, options.pastes, unknown);
  write_new_file("--out", options.out, to_json(set), options.replace || in_place);
  print(paragraph(Terminal::of_stdout(),
                  paste.name + " states the shift \"" + shift.name + "\" in " + options.out, 0));
  return exit_code::done;
}

}  // namespace

void add_paste_shift(CLI::App& paste, Action& chosen) {
  auto [verb, options] = add_verb(
      paste, "shift", "State how a paste's colour changes: after days in water, dry, uncured",
      chosen, state_shift);
  add_pastes_option(verb, "PASTES", options.pastes);
  add_needed(verb, "--paste", "NAME", options.paste, "Name of the paste");
  add_needed(verb, "--name", "TEXT", options.name,
             "Of the shift, such as week; `--after` asks for it");
  add_needed(verb, "--change", "dL,da,db", options.change,
             "Changed less measured colour of one specimen, D65/2");
  add_value(verb, "--sd", "L,a,b", options.sd,
            "Standard deviation of each, from specimen to specimen");
  add_value(verb, "--thickness", "MM", options.thickness, "Of the specimen, over black, mm");
  add_value(verb, "--source", "TEXT", options.source, "Who measured it, and how");
  add_needed(verb, "--out", "FILE", options.out,
             "Write the paste set (JSON document) to this file");
  verb.add_flag("--replace", options.replace,
                "Overwrite an existing --out, and a shift of this name");
  verb.footer(
      "Example:\n  mamelon paste shift mine.json --paste fawn --name week --change -1.2,0.2,1.5 "
      "--sd 0.5,0.2,0.6 --out mine.json");
}

}  // namespace mamelon::cli
