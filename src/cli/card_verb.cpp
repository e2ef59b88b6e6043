// `mamelon card`: how well a photo's card fits.

#include <filesystem>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "mamelon/card_report.h"

#include "base/numbers.h"
#include "cli/arguments.h"
#include "cli/card_history_verb.h"
#include "cli/photo_options.h"
#include "cli/print.h"
#include "cli/progress.h"
#include "cli/shared_options.h"
#include "cli/terminal.h"
#include "cli/verbs.h"

namespace mamelon::cli {
namespace {

struct Options {
  std::string input;
  PhotoOptionsText photo;
  std::string icc;
  std::string keep_fit;
  std::string design;
  std::string add;
  std::vector<std::string> history;
  std::string layout;
  std::string patches = "16", patch_mm = "4", bar_mm = "12";
  bool replace = false;
  bool json = false;
};

std::string profile_text(const Terminal& terminal, const InputProfile& profile) {
  using detail::format_fixed;
  return paragraph(terminal, std::string("ICC input profile written: curves and ") +
                                 (profile.is_matrix ? "a matrix" : "a table") +
                                 "; it gives the patches' fitted colours within ΔE00 " +
                                 format_fixed(profile.de00_median, 2) + " (median), " +
                                 format_fixed(profile.de00_max, 2) +
                                 " (largest), with the light as it is at the card's centre");
}

std::string design_text(const Terminal& terminal, const CardDesign& design) {
  std::vector<std::vector<std::string>> rows;
  for (const DesignedError& e : design.errors) {
    rows.push_back({in_words(e.kind), e.light, detail::format_fixed(e.de00_median, 2),
                    detail::format_fixed(e.de00_p95, 2)});
  }
  return "ΔE00 that this card allows, simulated over the surfaces that the library expects\n"
         "(all: every light but lines)\n" +
         table(terminal, {"surface", "light", right("median"), right("95 % point")}, rows);
}

std::string suggestions_text(const Terminal& terminal,
                             const std::vector<SuggestedPatch>& suggested) {
  std::vector<std::vector<std::string>> rows;
  for (const SuggestedPatch& patch : suggested) {
    rows.push_back({patch.made_of, lab_cell(patch.lab, 0),
                    detail::format_fixed(patch.error_before, 3),
                    detail::format_fixed(patch.error_after, 3)});
  }
  return "\nPatches to add, one after the other: what white paint has to absorb, and the root mean "
         "square ΔE00\nover kinds of surface and classes of light, lines included\n" +
         table(terminal, {"pigment", "L* a* b*", right("before"), right("after")}, rows);
}

// Simulates what a card allows and writes it into the card's own document.
int run_design(const Options& options) {
  const Viewing viewing = viewing_of(options.photo.viewing);
  const Card card = read_card(options.design);
  std::vector<SuggestedPatch> suggested;
  if (!options.add.empty()) {
    const auto count = static_cast<std::size_t>(whole_argument("--add", options.add, 1, 10));
    suggested = suggest_patches(card, viewing, count);
  }
  const CardDesign design = design_card(card, viewing);
  write_file_atomically(options.design,
                        with_design(read_file(options.design), options.design, design));
  if (options.json) {
    print(to_json(design, options.add.empty() ? nullptr : &suggested));
    return exit_code::done;
  }
  const Terminal terminal = Terminal::of_stdout();
  print(design_text(terminal, design) +
        (suggested.empty() ? "" : suggestions_text(terminal, suggested)));
  return exit_code::done;
}

// A card to print (SVG) and the document to fill in with what is measured on it.
int run_layout(const Options& options) {
  const std::filesystem::path drawing = options.layout;
  std::filesystem::path document = drawing;
  document.replace_extension(".json");
  if (drawing.extension() != ".svg") {
    throw ArgumentError("--layout: expected a file name that ends in .svg, got \"" +
                        options.layout + "\"");
  }
  const CardLayout layout = card_layout(
      {.name = drawing.stem().string(),
       .patches = static_cast<std::size_t>(whole_argument("--patches", options.patches, 1, 200)),
       .patch_mm = number_argument("--patch-size", options.patch_mm, 2, 30),
       .bar_mm = number_argument("--bars", options.bar_mm, 0, 100),
       .viewing = viewing_of(options.photo.viewing)});
  // The document first: it may be one that is filled in already.
  write_new_file("--layout", document.string(), to_json(layout.card));
  write_new_file("--layout", drawing.string(), layout_svg(layout));
  print("Wrote " + drawing.string() + " to print in true size, and " + document.string() +
        " to fill in: the \"reflectance\" or \"lab\" of every patch and of the white, as "
        "measured.\n");
  return exit_code::done;
}

int run_fit(const Options& options) {
  const Viewing viewing = viewing_of(options.photo.viewing);
  check_output(options.icc);
  check_output(options.keep_fit);
  if (options.photo.card.empty()) {
    throw ArgumentError("a photo needs --card FILE, the reference card that stands in it");
  }
  const Card card = read_card(options.photo.card);
  std::optional<Progress> progress(std::in_place);
  progress->at(0, "reading the photo");
  const Photo photo =
      read_photo(options.input, {.camera_rendering = options.photo.camera_rendering});
  progress->at(0.4, "finding the card");
  CardFitOptions fitting = fit_options(options.photo);
  if (!options.photo.blank_white.empty()) {
    fitting.blank_white = std::make_shared<const Photo>(read_photo(
        options.photo.blank_white, {.camera_rendering = options.photo.camera_rendering}));
  }
  const CardFit fit = fit_card(photo, card, viewing, fitting);
  std::vector<std::string> warnings = photo.warnings;
  warnings.insert(warnings.end(), fit.warnings.begin(), fit.warnings.end());
  progress->at(0.8, "writing the profile");
  std::optional<InputProfile> profile;
  if (!options.icc.empty()) {
    const std::string file = read_file(options.input);
    profile = input_profile(std::as_bytes(std::span(file)), options.input, fit, card.name);
    write_new_file("--icc", options.icc, std::string(profile->bytes.begin(), profile->bytes.end()),
                   options.replace);
  }
  if (!options.keep_fit.empty()) {
    write_new_file("--keep-fit", options.keep_fit, to_json(keep(fit)), options.replace);
  }
  progress.reset();
  const auto advice = card_advice(card, viewing);
  warnings.insert(warnings.end(), advice.begin(), advice.end());
  print_warnings(warnings);
  if (!options.json) {
    const Terminal terminal = Terminal::of_stdout();
    print(card_text(terminal, fit) + (profile ? profile_text(terminal, *profile) : ""));
    return exit_code::done;
  }
  print(to_json(CardReport{.card = &card,
                           .photo = &photo,
                           .fit = &fit,
                           .profile = profile ? &*profile : nullptr,
                           .warnings = std::move(warnings)}));
  return exit_code::done;
}

int run(const Options& options) {
  const int given = int{!options.input.empty()} + int{!options.design.empty()} +
                    int{!options.layout.empty()} + int{!options.history.empty()};
  if (given != 1) {
    throw ArgumentError("give one of a PHOTO, --design FILE, --history FILES and --layout FILE");
  }
  if (!options.add.empty() && options.design.empty()) {
    throw ArgumentError("--add: goes with --design");
  }
  if (options.input.empty() && !(options.icc.empty() && options.keep_fit.empty())) {
    throw ArgumentError("--icc and --keep-fit: go with a PHOTO");
  }
  if (!options.history.empty()) {
    return show_card_history(options.history, options.photo, options.json);
  }
  if (!options.design.empty()) return run_design(options);
  return options.layout.empty() ? run_fit(options) : run_layout(options);
}

}  // namespace

void add_card(CLI::App& app, Action& chosen) {
  auto [verb, options] =
      add_verb(app, "card", "How well the reference card in a photo fits", chosen, run);
  verb.add_option("PHOTO", options.input, "Photo: JPEG, PNG, TIFF or camera raw");
  add_photo_options(verb, options.photo);
  add_value(verb, "--icc", "FILE", options.icc,
            "Write the fitted correction as an ICC input profile for this camera, light and "
            "exposure; with --viewing D50/2 its colours need no adaptation");
  add_value(verb, "--keep-fit", "FILE", options.keep_fit,
            "Keep what the fit rests on, for later photos of this session by the same "
            "camera and light that show no card: 'shade' and 'plan' take it by --fit");
  add_value(verb, "--design", "FILE", options.design,
            "Simulate how exact this card can be and store it in its document");
  add_value(verb, "--add", "N", options.add,
            "With --design: also say which patches to add, one after the other, so that the "
            "card tells more of camera and light (1 to 10)");
  add_value(verb, "--history", "[YYYY-MM-DD=]FILE", options.history,
            "Which patches have changed over time: two or more kept fits, or photos with "
            "--card, of one card by one camera in one light; the day where the file does "
            "not say when it was taken")
      ->expected(1, 1000);
  add_value(verb, "--layout", "FILE", options.layout,
            "Draw a card to print (SVG) and write its document to fill in beside it");
  add_value(verb, "--patches", "N", options.patches, "With --layout: windows to mount patches in");
  add_value(verb, "--patch-size", "MM", options.patch_mm, "With --layout: side of a window");
  add_value(verb, "--bars", "MM", options.bar_mm,
            "With --layout: length of the white bars beside the teeth; 0: none");
  add_replace_flag(verb, options.replace);
  add_json_flag(verb, options.json);
  verb.footer(
      "Example:\n  mamelon card data/photos/front_teeth.jpg --card data/cards/tooth20_frame.json "
      "--viewing D50/2 --icc camera.icc");
}

}  // namespace mamelon::cli
