// `mamelon paste fit`: the optical constants of a paste from its drawdowns.

#include <algorithm>
#include <filesystem>
#include <string>
#include <system_error>
#include <vector>

#include "mamelon/mamelon.h"

#include "base/numbers.h"
#include "cli/arguments.h"
#include "cli/disc_photos.h"
#include "cli/photo_options.h"
#include "cli/print.h"
#include "cli/shared_options.h"
#include "cli/terminal.h"
#include "cli/verbs.h"

namespace mamelon::cli {
namespace {

using detail::format_fixed;

struct FitOptions {
  PhotoOptionsText measured;  // card and viewing
  bool photos = false;
  std::string drawdowns, name, role, into, out, sheet, label, aperture;
  std::string set_name = "pastes";
  std::vector<std::string> words;
  bool replace = false;
  std::string refractive_index = "1.5";
  std::string increment_limit_mm = "2";
  std::string radiant_exposure_j_cm2 = "16";
  bool json = false;
};

auto named(PasteSet& set, const std::string& name) {
  return std::ranges::find(set.pastes, name, &Paste::name);
}

// The set that the paste goes into. What stands in a file already is lost only where that is asked
// for; a set may grow in place.
PasteSet set_for(const FitOptions& options) {
  PasteSet set;
  set.name = options.set_name;
  if (!options.into.empty()) set = read_paste_set(options.into);
  if (options.replace) return set;
  if (!options.into.empty() && named(set, options.name) != set.pastes.end()) {
    throw ArgumentError("--into: " + options.into + " has a paste named \"" + options.name +
                        "\" already; choose another --name, or add --replace to put this one in "
                        "its place");
  }
  std::error_code unknown;
  if (!options.out.empty() && std::filesystem::exists(options.out, unknown) &&
      !std::filesystem::equivalent(options.out, options.into, unknown)) {
    throw ArgumentError("--out: " + options.out +
                        " exists; choose another name, add --replace to overwrite it, or take the "
                        "paste --into it");
  }
  return set;
}

// The set with the paste in it, in place of one of the same name.
PasteSet with_paste(PasteSet set, const Paste& paste) {
  const auto same = named(set, paste.name);
  if (same == set.pastes.end()) {
    set.pastes.push_back(paste);
  } else {
    *same = paste;
  }
  check_paste_set(set);
  return set;
}

// OURS=THEIRS, as often as there are words.
DrawdownWords words_argument(const std::vector<std::string>& all) {
  DrawdownWords words;
  for (const std::string& one : all) {
    words.insert(pair_argument("--word", "OURS=THEIRS, for instance thickness_mm=Dicke", one));
  }
  return words;
}

std::string hiding_95(const Opacity& opacity) {
  if (!opacity.infinite_95_mm) return {};
  return " (95 %: " + format_fixed((*opacity.infinite_95_mm)[0], 1) + " to " +
         format_fixed((*opacity.infinite_95_mm)[1], 1) + " mm)";
}

std::string fit_text(const Terminal& terminal, const FitReport& report) {
  const Opacity& opacity = report.opacity;
  const PasteFit& fit = report.transport;
  std::string out =
      wrapped(report.paste.name + ": " + format_fixed(opacity.thickness_mm, 1) +
                  " mm shows its floor by ΔE00 " + format_fixed(opacity.tp00, 1) +
                  " (contrast ratio " + format_fixed(opacity.contrast_ratio, 2) + "); " +
                  (opacity.infinite_mm
                       ? format_fixed(*opacity.infinite_mm, 1) + " mm hides it" + hiding_95(opacity)
                       : std::string("no depth up to 30 mm hides it")),
              terminal.width, 0);
  out += "\n\n";
  std::vector<std::vector<std::string>> rows;
  const Grid grid = fit.absorption.grid();
  const std::size_t stride = std::max<std::size_t>(1, grid.count / 6);
  const auto value = [](double mean, double ln_sd) {
    constexpr double told = 0.5;
    return ln_sd > told
               ? std::string("undetermined")
               : detail::format_short(mean, 3) + " ± " + format_fixed(100 * ln_sd, 1) + " %";
  };
  const PasteFit& two = report.kubelka_munk;
  for (std::size_t i = 0; i < grid.count; i += stride) {
    rows.push_back({format_fixed(grid.wavelength_nm(i), 0),
                    value(fit.absorption[i], fit.ln_absorption_sd[i]),
                    value(fit.scattering[i], fit.ln_scattering_sd[i]),
                    value(two.absorption[i], two.ln_absorption_sd[i]),
                    value(two.scattering[i], two.ln_scattering_sd[i])});
  }
  out +=
      table(terminal,
            {right("nm"), right("µa /mm"), right("µs′ /mm"), right("K /mm"), right("S /mm")}, rows);
  out += "\ng " + format_fixed(fit.anisotropy, 2) + " ± " + format_fixed(fit.anisotropy_sd, 2) +
         (fit.anisotropy_fitted ? "" : " (assumed: the drawdowns do not determine it)") +
         "; refractive index " + format_fixed(fit.refractive_index, 3) + " ± " +
         format_fixed(fit.refractive_index_sd, 3) + "; scale " + format_fixed(fit.scale, 3) +
         " ± " + format_fixed(fit.scale_sd, 3) + "; residual " +
         (fit.residual_rms > 0 ? format_fixed(100 * fit.residual_rms, 2) + " %"
                               : format_fixed(fit.residual_lab_rms, 2) + " in L*, a*, b*") +
         ", chi-square " + format_fixed(fit.chi_square, 0) + " for " +
         format_fixed(fit.degrees_of_freedom, 0) + " degrees of freedom\n";
  return out +
         paragraph(terminal,
                   "Cured material is described; cure specimens as the maker's instructions say.",
                   0);
}

int fit(const FitOptions& options) {
  const Viewing viewing = viewing_of(options.measured.viewing);
  const Role role = word_argument<Role>("--role", options.role);
  const double index = number_argument("--refractive-index", options.refractive_index, 1.3, 1.8);
  const double limit = number_argument("--increment-limit", options.increment_limit_mm, 0.1, 20);
  const double exposure =
      number_argument("--radiant-exposure", options.radiant_exposure_j_cm2, 0.1, 200);
  const PasteSet set = set_for(options);
  std::vector<std::string> of_photos;
  std::vector<Drawdown> drawdowns =
      options.photos ? drawdowns_in_photos(options.drawdowns, options.measured, viewing, of_photos)
                     : read_drawdowns(options.drawdowns, viewing, words_argument(options.words),
                                      table_options(options.measured.viewing));
  if (!options.aperture.empty()) {
    const Aperture aperture = aperture_argument(options.aperture);
    for (Drawdown& one : drawdowns) {
      if (!one.aperture && one.geometry != Geometry::transmittance) one.aperture = aperture;
    }
  }
  FitReport report = fit_report(options.name, role, drawdowns, viewing, index);
  report.label = options.label;
  report.paste.increment_limit_mm = limit;
  report.paste.radiant_exposure_j_cm2 = exposure;
  const bool determined =
      !report.transport.scattering_undetermined && !report.kubelka_munk.scattering_undetermined;
  if (!options.sheet.empty()) write_sheet(options.sheet, sheet_html(report));
  if (!options.out.empty() && determined) {
    write_file_atomically(options.out, to_json(with_paste(set, report.paste)));
  }
  report.warnings.insert(report.warnings.end(), of_photos.begin(), of_photos.end());
  print_warnings(report.warnings);
  if (!determined) {
    print_warnings(
        {"the constants are not determined" +
         std::string(options.out.empty() ? "" : "; " + options.out + " was not written")});
  }
  print(options.json ? to_json(report) : fit_text(Terminal::of_stdout(), report));
  return determined ? exit_code::done : exit_code::negative;
}

struct TemplateOptions {
  std::string thicknesses = "0.5,1,2";
  std::string geometry = "d:8 excluded";
  std::string wavelengths = "400:700:10";
  std::string repeats = "2";
  bool lab = false;
  bool transmittance = false;
  bool replace = false;
  std::string out;
};

int write_template(const TemplateOptions& options) {
  DrawdownTemplate wanted;
  wanted.thicknesses_mm = numbers_argument("--thicknesses", options.thicknesses, ',', 0.01, 30);
  wanted.geometry = options.geometry;
  wanted.repeats = static_cast<int>(number_argument("--repeats", options.repeats, 1, 100));
  wanted.transmittance = options.transmittance;
  wanted.grid.reset();
  if (!options.lab) {
    const auto nm = numbers_argument("--wavelengths", options.wavelengths, ':', 0.1, 2500);
    if (nm.size() != 3 || !(nm[1] > nm[0]) || (nm[1] - nm[0]) / nm[2] > 2400) {
      throw ArgumentError("--wavelengths: expected FIRST:LAST:STEP in nm, for instance 400:700:10");
    }
    wanted.grid = Grid{nm[0], nm[2], static_cast<std::size_t>((nm[1] - nm[0]) / nm[2] + 1.000001)};
  }
  const std::string text = drawdown_template(wanted);
  if (options.out.empty()) {
    print(text);
    return exit_code::done;
  }
  std::error_code unknown;
  if (!options.replace && std::filesystem::exists(options.out, unknown)) {
    throw ArgumentError("--out: " + options.out +
                        " exists; choose another name, or add --replace to overwrite it");
  }
  write_file_atomically(options.out, text);
  return exit_code::done;
}

}  // namespace

void add_paste_template(CLI::App& paste, Action& chosen) {
  auto [verb, options] =
      add_verb(paste, "template", "A table of drawdowns to fill in, for `paste fit`", chosen,
               write_template);
  add_value(verb, "--thicknesses", "MM,…", options.thicknesses, "Of the specimens, mm");
  add_value(verb, "--geometry", "TEXT", options.geometry,
            "Of the instrument: 45/0, d:8 excluded or d:8 included");
  add_value(verb, "--wavelengths", "FIRST:LAST:STEP", options.wavelengths, "Of the readings, nm");
  verb.add_flag("--lab", options.lab, "Columns L, a, b in place of wavelengths");
  verb.add_flag("--transmittance", options.transmittance,
                "Rows for the transmittance of each specimen, too");
  add_value(verb, "--repeats", "N", options.repeats, "Rows a reading");
  add_value(verb, "--out", "FILE", options.out, "Write to this file in place of the terminal");
  verb.add_flag("--replace", options.replace, "Overwrite an existing --out");
  verb.footer("Example:\n  mamelon paste template --thicknesses 0.5,1,2 --out fawn.csv");
}

void add_paste_fit(CLI::App& paste, Action& chosen) {
  auto [verb, options] = add_verb(
      paste, "fit", "Optical constants of a paste from drawdowns of your own", chosen, fit);
  add_needed(verb, "DRAWDOWNS", "FILE", options.drawdowns,
             "CSV specimen,thickness_mm,backing,geometry,contact,value,400,410,… (or L,a,b), "
             "in seven languages, or ISO 28178 text with these fields, or CxF3 with these tags; "
             "`paste template` writes one to fill in. Rows "
             "without specimen are the bare backings, whose value is external (as read in "
             "air) or internal (as seen from inside the paste); repeated rows repeat readings");
  add_needed(verb, "--name", "TEXT", options.name, "Your name of the paste");
  add_needed(verb, "--role", "ROLE", options.role,
             "What it replaces: opaque, dentine, body, enamel or translucent");
  verb.add_flag("--photos", options.photos,
                "DRAWDOWNS is a table photo,specimen,thickness_mm,backing,x,y,width,height of "
                "cured discs in photos with the --card in the frame: a box in pixels within each "
                "disc, and, without a specimen, within each bare backing. No shadow's edge may run "
                "between the card and the discs");
  add_value(verb, "--aperture", "LIT/SEEN", options.aperture,
            "What the instrument lights and sees, diameters in mm, where the file has no "
            "lit_mm and seen_mm; endless: so large that no light is lost");
  add_value(verb, "--word", "OURS=THEIRS", options.words,
            "A word of the file's own for a column or a cell, as often as needed: "
            "thickness_mm=Lage, \"air gap=trocken\"");
  add_value(verb, "--refractive-index", "N", options.refractive_index,
            "Refractive index of the cured paste, ± 0.02");
  add_value(verb, "--increment-limit", "MM", options.increment_limit_mm,
            "Thickest increment the maker allows, mm; 2 mm is common practice");
  add_value(verb, "--radiant-exposure", "J/CM2", options.radiant_exposure_j_cm2,
            "Radiant exposure the maker asks for per increment, J/cm²");
  add_value(verb, "--into", "FILE", options.into,
            "Paste set (JSON document) to take the paste into; a new one when not given");
  add_value(verb, "--set-name", "TEXT", options.set_name, "Name of a new set");
  add_value(verb, "--out", "FILE", options.out, "Write the paste set (JSON document) to this file");
  verb.add_flag("--replace", options.replace,
                "Overwrite an existing --out, and a paste of this name");
  add_photo_options(verb, options.measured);
  add_label_option(verb, options.label, "Your own title for the sheet");
  add_sheet_option(verb, options.sheet);
  add_json_flag(verb, options.json);
  verb.footer(
      "Exits with 1 when the readings do not tell the constants (specimens that are too thick, or "
      "transmittances alone: what is missing is named), and with 5 when they do not fit together "
      "as they are described: the likeliest cause is named.\n"
      "Example:\n  mamelon paste fit data/pastes/drawdowns_fawn.csv --name fawn --role body "
      "--into data/pastes/orchard10.json --out mine.json --sheet fawn.html");
}

}  // namespace mamelon::cli
