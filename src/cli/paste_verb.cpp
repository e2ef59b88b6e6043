// `mamelon paste`: optical constants from drawdowns, the colour of a given stack of pastes, and how
// thin an opaque one masks a floor.

#include <optional>
#include <string>
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

using detail::format_fixed;

struct PredictOptions {
  FloorOptions floor;
  ViewingOptions viewing;
  std::string pastes, layers, target, after;
  std::string weights = "1:1:1";
  std::string engine = "best";
  std::string streams = "4";
  std::string thickness_sd = "0.1";
  bool json = false;
};

Engine engine_argument(const std::string& text, const Stack& stack) {
  if (text == "best") return best_engine(stack);
  if (text == "kubelka-munk") return Engine::kubelka_munk;
  if (text == "transport") return Engine::transport;
  throw ArgumentError("--engine: expected best, kubelka-munk or transport, got \"" +
                      text.substr(0, 40) + "\"");
}

// NAME:MM with commas between layers, from the floor outward.
std::vector<Layer> layers_argument(const std::string& text, const PasteSet& set) {
  std::vector<Layer> layers;
  for (const std::string& part : split(text, ',')) {
    if (part.find(':') == std::string::npos) {
      throw ArgumentError("--layers: expected NAME:MM with commas between layers, got \"" +
                          part.substr(0, 40) + "\"");
    }
    const auto [name, mm] = parted(part, ':');
    layers.push_back({set.pastes[paste_argument("--layers", set, name)],
                      number_argument("--layers", mm, 0.001, 30)});
  }
  return layers;
}

// The floor as a paste that touches it sees it: its reflectance under the surface.
Reflectance floor_inside(const FloorOptions& options, const ViewingOptions& viewing,
                         const Grid& grid, std::vector<std::string>& warnings) {
  const Interface surface = interface_of(floor_index_of(options), options.specular_included);
  const Reflectance in_air =
      floor_argument(options.floor, viewing_of(viewing), grid, table_options(viewing), warnings);
  std::vector<double> floor;
  for (const double value : in_air.values()) {
    const double internal = to_internal(value, surface);
    if (internal < 0) {
      throw ModelError(
          "--floor: reads below its own surface reflection; leave out "
          "--specular-included or give the floor as it was read");
    }
    floor.push_back(internal);
  }
  return {in_air.grid(), std::move(floor)};
}

PasteSet set_after(const std::string& file, const std::string& after,
                   std::vector<std::string>& warnings) {
  PasteSet set = read_paste_set(file);
  return after.empty() ? set : shifted(std::move(set), after, warnings);
}

int predict_colour(const PredictOptions& options) {
  const Viewing viewing = viewing_of(options.viewing);
  const DifferenceWeights weights = weights_argument(options.weights);
  std::vector<std::string> warnings;
  const PasteSet set = set_after(options.pastes, options.after, warnings);
  const Stack stack{.floor = floor_inside(options.floor, options.viewing,
                                          set.pastes.front().absorption.grid(), warnings),
                    .layers = layers_argument(options.layers, set),
                    .specular_included = options.floor.specular_included};
  const Engine engine = engine_argument(options.engine, stack);
  const std::vector<double> thickness_sd(
      stack.layers.size(), number_argument("--thickness-sd", options.thickness_sd, 0, 5));
  FittedPrediction prediction = predict_with_error(
      stack, thickness_sd, viewing, engine, whole_argument("--streams", options.streams, 4, 32));
  prediction.warnings.insert(prediction.warnings.begin(), warnings.begin(), warnings.end());
  const Lab lab = prediction.lab.value;
  const Vec3 sd = prediction.lab.sd();
  std::optional<double> difference;
  if (!options.target.empty()) {
    const auto target = list_argument("--target", options.target, 3);
    difference = de00({target[0], target[1], target[2]}, lab, weights);
  }
  print_warnings(prediction.warnings);
  if (options.json) {
    print(to_json(prediction, engine, difference));
    return exit_code::done;
  }
  const Terminal terminal = Terminal::of_stdout();
  const std::string colour = swatch(terminal, lab, viewing);
  const auto line = [&](const std::string& text) { return paragraph(terminal, text); };
  const auto coordinate = [](const char* name, double value, double spread) {
    return std::string(name) + " " + format_fixed(value, 2) + " ± " + format_fixed(spread, 2);
  };
  const auto between = [](const char* name, double value, double spread) {
    return std::string(name) + " " + format_fixed(value - 1.96 * spread, 1) + " to " +
           format_fixed(value + 1.96 * spread, 1);
  };
  print(line(coordinate("L*", lab.l, sd[0]) + "  " + coordinate("a*", lab.a, sd[1]) + "  " +
             coordinate("b*", lab.b, sd[2]) + "  under " + to_string(viewing) +
             (colour.empty() ? "" : "  " + colour)) +
        line("With 95 %: " + between("L*", lab.l, sd[0]) + ", " + between("a*", lab.a, sd[1]) +
             ", " + between("b*", lab.b, sd[2]) + ", each by itself") +
        line(std::string("± is one standard deviation: constants of the pastes, thicknesses (") +
             options.thickness_sd + " mm) and model; by " +
             (engine == Engine::transport ? "radiative transfer." : "two fluxes.")) +
        (difference ? line("ΔE00 " + format_fixed(*difference, 2) + " from the target") : "") +
        line(options.after.empty() ? std::string("Cured, not uncured, material is modelled.")
                                   : "Pastes after \"" + options.after + "\"."));
  return exit_code::done;
}

void add_predict(CLI::App& paste, Action& chosen) {
  auto [verb, options] =
      add_verb(paste, "predict", "The colour of a given stack of pastes", chosen, predict_colour);
  add_pastes_option(verb, "PASTES", options.pastes);
  add_needed(verb, "--layers", "NAME:MM,…", options.layers,
             "Pastes and thicknesses in mm, from the floor outward");
  add_floor_options(verb, options.floor, "Floor and result are");
  add_viewing_options(verb, options.viewing);
  add_value(verb, "--target", "L,a,b", options.target, "A colour to compare with");
  add_weights_option(verb, options.weights);
  add_value(verb, "--engine", "ENGINE", options.engine,
            "kubelka-munk (two fluxes), transport (discrete ordinates, for pastes with "
            "transport constants) or best (transport where every paste has them)");
  add_value(verb, "--after", "NAME", options.after,
            "Pastes after a shift that they state, such as week");
  add_value(verb, "--thickness-sd", "MM", options.thickness_sd,
            "Standard deviation of each layer's thickness, mm");
  add_value(verb, "--streams", "N", options.streams,
            "Directions per hemisphere of transport: 4, 6, 8, 16 or 32");
  add_json_flag(verb, options.json);
  verb.footer(
      "Example:\n  mamelon paste predict data/pastes/orchard10.json --layers loam:2.2,petal:0.8 "
      "--floor data/floors/sound_dentine.csv --target 74,2,18");
}

struct MaskOptions {
  FloorOptions floor;
  ViewingOptions viewing;
  std::string pastes, paste, after;
  std::string coat = "0.1";
  std::string de00 = "0.8";
  bool json = false;
};

int mask_floor(const MaskOptions& options) {
  const Viewing viewing = viewing_of(options.viewing);
  std::vector<std::string> warnings;
  const PasteSet set = set_after(options.pastes, options.after, warnings);
  const Layer layer = layers_argument(options.paste + ":1", set).front();
  const Reflectance floor =
      floor_inside(options.floor, options.viewing, layer.paste.absorption.grid(), warnings);
  const double most = number_argument("--de00", options.de00, 0.01, 20);
  const auto found = masking(layer.paste, best_engine(Stack{floor, {layer}, false}), floor, viewing,
                             number_argument("--coat", options.coat, 0.01, 2), most);
  print_warnings(warnings);
  if (options.json) {
    print(to_json(found));
    return found ? exit_code::done : exit_code::negative;
  }
  const Terminal terminal = Terminal::of_stdout();
  const auto line = [&](const std::string& text) { return paragraph(terminal, text); };
  if (!found) {
    print(line("No depth up to 30 mm of " + layer.paste.name + " masks this floor."));
    return exit_code::negative;
  }
  std::string text = line(
      layer.paste.name + " masks this floor with " +
      detail::counted(static_cast<std::size_t>(found->coats), "coat", "coats") + " of " +
      detail::format_short(found->coat_mm) + " mm: from " + format_fixed(found->thickness_mm, 2) +
      " mm on" +
      (found->thickness_95_mm ? " (95 %: " + format_fixed((*found->thickness_95_mm)[0], 2) +
                                    " to " + format_fixed((*found->thickness_95_mm)[1], 2) + " mm)"
                              : std::string()) +
      " it looks as it does by itself, within ΔE00 " + detail::format_short(most));
  if (!found->thickness_95_mm) {
    text += line("The paste states no errors of its constants: take a coat more.");
  }
  if (found->thickness_mm > layer.paste.increment_limit_mm) {
    text += line("That is more than one portion of this paste (" +
                 detail::format_short(layer.paste.increment_limit_mm) +
                 " mm): a more opaque one masks in less.");
  }
  print(text + line("Each coat is cured before the next, as the paste's maker says."));
  return exit_code::done;
}

void add_mask(CLI::App& paste, Action& chosen) {
  auto [verb, options] =
      add_verb(paste, "mask", "How many thin coats of a paste hide a floor", chosen, mask_floor);
  add_pastes_option(verb, "PASTES", options.pastes);
  add_needed(verb, "--paste", "NAME", options.paste, "Name of the paste");
  add_floor_options(verb, options.floor, "The floor is");
  add_viewing_options(verb, options.viewing);
  add_value(verb, "--coat", "MM", options.coat, "Thickness of one coat, mm");
  add_value(verb, "--de00", "DE00", options.de00,
            "Largest difference from the paste by itself; 0.8 is just visible");
  add_value(verb, "--after", "NAME", options.after,
            "The paste after a shift that it states, such as week");
  add_json_flag(verb, options.json);
  verb.footer(
      "Exits with 1 where no depth masks it.\n"
      "Example:\n  mamelon paste mask data/pastes/orchard10.json --paste chalk --coat 0.15 "
      "--floor data/floors/dark_dentine.csv");
}

}  // namespace

void add_paste(CLI::App& app, Action& chosen) {
  CLI::App* paste = app.add_subcommand("paste", "Optical constants of pastes and their colour");
  paste->require_subcommand(1);
  add_paste_fit(*paste, chosen);
  add_paste_template(*paste, chosen);
  add_predict(*paste, chosen);
  add_mask(*paste, chosen);
  add_paste_shift(*paste, chosen);
}

}  // namespace mamelon::cli
