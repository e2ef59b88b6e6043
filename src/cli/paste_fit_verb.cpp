// `mamelon paste fit`: the optical constants of a paste from its drawdowns.

#include "cli/paste_fit_verb.h"

#include <algorithm>
#include <memory>
#include <string>
#include <vector>

#include "mamelon/mamelon.h"

#include "base/numbers.h"
#include "cli/arguments.h"
#include "cli/print.h"
#include "cli/shared_options.h"
#include "cli/terminal.h"

namespace mamelon::cli {
namespace {

using detail::format_fixed;

struct FitOptions {
  ViewingOptions viewing;
  std::string drawdowns, name, role, into, out, sheet, label;
  std::string refractive_index = "1.5";
  std::string increment_limit_mm = "2";
  std::string radiant_exposure_j_cm2 = "16";
  bool json = false;
};

Role role_argument(const std::string& text) {
  try {
    return role_from_string(text);
  } catch (const ArgumentError& error) {
    throw ArgumentError("--role: " + std::string(error.what()));
  }
}

// The set with the paste in it, in place of one of the same name.
PasteSet with_paste(const FitOptions& options, const Paste& paste) {
  PasteSet set;
  set.name = paste.name;
  if (!options.into.empty()) {
    set = read_paste_set(options.into);
  }
  const auto same = std::find_if(set.pastes.begin(), set.pastes.end(),
                                 [&](const Paste& known) { return known.name == paste.name; });
  if (same == set.pastes.end()) {
    set.pastes.push_back(paste);
  } else {
    *same = paste;
  }
  check_paste_set(set);
  return set;
}

std::string fit_text(const Terminal& terminal, const FitReport& report) {
  const Opacity& opacity = report.opacity;
  const PasteFit& fit = report.transport;
  std::string out =
      wrapped(report.paste.name + ": " + format_fixed(opacity.thickness_mm, 1) +
                  " mm shows its floor by ΔE00 " + format_fixed(opacity.tp00, 1) +
                  " (contrast ratio " + format_fixed(opacity.contrast_ratio, 2) + "); " +
                  (opacity.infinite_mm ? format_fixed(*opacity.infinite_mm, 1) + " mm hides it"
                                       : std::string("no depth up to 30 mm hides it")),
              terminal.width, 0);
  out += "\n\n";
  std::vector<std::vector<std::string>> rows;
  const Grid grid = fit.absorption.grid();
  const std::size_t stride = std::max<std::size_t>(1, grid.count / 6);
  const auto value = [](double mean, double ln_sd) {
    return detail::format_short(mean, 3) + " ± " + format_fixed(100 * ln_sd, 1) + " %";
  };
  const PasteFit& two = report.kubelka_munk;
  for (std::size_t i = 0; i < grid.count; i += stride) {
    rows.push_back({format_fixed(grid.wavelength_nm(i), 0),
                    value(fit.absorption[i], fit.ln_absorption_sd[i]),
                    value(fit.scattering[i], fit.ln_scattering_sd[i]),
                    value(two.absorption[i], two.ln_absorption_sd[i]),
                    value(two.scattering[i], two.ln_scattering_sd[i])});
  }
  out += table(terminal,
               {{"nm", Align::right},
                {"µa /mm", Align::right},
                {"µs′ /mm", Align::right},
                {"K /mm", Align::right},
                {"S /mm", Align::right}},
               rows);
  out += "\ng " + format_fixed(fit.anisotropy, 2) + " ± " + format_fixed(fit.anisotropy_sd, 2) +
         (fit.anisotropy_fitted ? "" : " (taken, not told by the drawdowns)") + "; residual " +
         format_fixed(100 * fit.residual_rms, 2) + " %, chi-square " +
         format_fixed(fit.chi_square, 0) + " for " + format_fixed(fit.degrees_of_freedom, 0) +
         " degrees of freedom\n";
  return out +
         wrapped("Cured material is described; cure specimens as the maker's instructions say.",
                 terminal.width, 0) +
         "\n";
}

int fit(const FitOptions& options) {
  const Viewing viewing = viewing_of(options.viewing);
  const Role role = role_argument(options.role);
  const double index = number_argument("--refractive-index", options.refractive_index, 1.3, 1.8);
  const double limit = number_argument("--increment-limit", options.increment_limit_mm, 0.1, 20);
  const double exposure =
      number_argument("--radiant-exposure", options.radiant_exposure_j_cm2, 0.1, 200);
  FitReport report =
      fit_report(options.name, role, read_drawdowns(options.drawdowns, viewing), viewing, index);
  report.label = options.label;
  report.paste.increment_limit_mm = limit;
  report.paste.radiant_exposure_j_cm2 = exposure;
  const bool determined =
      !report.transport.scattering_undetermined && !report.kubelka_munk.scattering_undetermined;
  if (!options.sheet.empty()) write_file_atomically(options.sheet, sheet_html(report));
  if (!options.out.empty() && determined) {
    write_file_atomically(options.out, to_json(with_paste(options, report.paste)));
  }
  print_warnings(report.warnings);
  if (!determined) {
    print_warnings(
        {"the constants are not determined" +
         std::string(options.out.empty() ? "" : "; " + options.out + " was not written")});
  }
  print(options.json ? to_json(report) : fit_text(Terminal::of_stdout(), report));
  return determined ? exit_code::done : exit_code::negative;
}

}  // namespace

void add_paste_fit(CLI::App& paste, Action& chosen) {
  const auto options = std::make_shared<FitOptions>();
  CLI::App* verb =
      paste.add_subcommand("fit", "Optical constants of a paste from drawdowns of your own");
  verb->add_option("DRAWDOWNS", options->drawdowns,
                   "CSV specimen,thickness_mm,backing,geometry,contact,value,400,410,… (or L,a,b); "
                   "rows without specimen are the bare backings, repeated rows repeat readings")
      ->type_name("FILE")
      ->required();
  verb->add_option("--name", options->name, "Your name of the paste")
      ->type_name("TEXT")
      ->required();
  verb->add_option("--role", options->role,
                   "What it replaces: opaque, dentine, body, enamel or translucent")
      ->type_name("ROLE")
      ->required();
  verb->add_option("--refractive-index", options->refractive_index,
                   "Refractive index of the cured paste")
      ->type_name("N")
      ->capture_default_str();
  verb->add_option("--increment-limit", options->increment_limit_mm,
                   "Thickest increment the maker allows, mm; 2 mm is common practice")
      ->type_name("MM")
      ->capture_default_str();
  verb->add_option("--radiant-exposure", options->radiant_exposure_j_cm2,
                   "Radiant exposure the maker asks for per increment, J/cm²")
      ->type_name("J/CM2")
      ->capture_default_str();
  verb->add_option("--into", options->into,
                   "Paste set (JSON document) to take the paste into; a new one when not given")
      ->type_name("FILE");
  verb->add_option("--out", options->out, "Write the paste set (JSON document) to this file")
      ->type_name("FILE");
  add_viewing_options(*verb, options->viewing);
  add_label_option(*verb, options->label, "Your own title for the sheet");
  add_sheet_option(*verb, options->sheet);
  add_json_flag(*verb, options->json);
  verb->footer(
      "Exits with 1 when the specimens are too thick to tell the constants.\n"
      "Example:\n  mamelon paste fit data/pastes/drawdowns_fawn.csv --name fawn --role body "
      "--into data/pastes/orchard10.json --out mine.json --sheet fawn.html");
  verb->callback([options, &chosen] { chosen = [options] { return fit(*options); }; });
}

}  // namespace mamelon::cli
