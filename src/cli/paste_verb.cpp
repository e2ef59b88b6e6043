// `mamelon paste predict`: the colour of a given stack of pastes.

#include <algorithm>
#include <iostream>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "mamelon/mamelon.h"

#include "base/numbers.h"
#include "cli/arguments.h"
#include "cli/print.h"
#include "cli/terminal.h"
#include "cli/verbs.h"
#include "faces/json_write.h"

namespace mamelon::cli {
namespace {

using detail::format_fixed;

struct PredictOptions {
  std::string pastes, layers, floor;
  std::string floor_index = "1.54";
  std::string viewing = "D65/2";
  std::string target;
  std::string weights = "1:1:1";
  bool specular_included = false;
  bool json = false;
};

// NAME:MM with commas between layers, from the floor outward.
std::vector<Layer> layers_argument(const std::string& text, const PasteSet& set) {
  std::vector<Layer> layers;
  std::size_t begin = 0;
  while (begin <= text.size()) {
    const std::size_t end = std::min(text.find(',', begin), text.size());
    const std::string part = text.substr(begin, end - begin);
    begin = end + 1;
    const auto colon = part.rfind(':');
    if (colon == std::string::npos) {
      throw ArgumentError("--layers: expected NAME:MM with commas between layers, got \"" +
                          part.substr(0, 40) + "\"");
    }
    const std::string name = part.substr(0, colon);
    const auto paste = std::find_if(set.pastes.begin(), set.pastes.end(),
                                    [&](const Paste& candidate) { return candidate.name == name; });
    if (paste == set.pastes.end()) {
      std::string known;
      for (const Paste& candidate : set.pastes) {
        known += (known.empty() ? "" : ", ") + candidate.name;
      }
      throw ArgumentError("--layers: no paste is named \"" + name + "\"; there are " + known);
    }
    layers.push_back({*paste, number_argument("--layers", part.substr(colon + 1), 0.001, 30)});
  }
  return layers;
}

int predict_colour(const PredictOptions& options) {
  const Viewing viewing = viewing_argument(options.viewing);
  const DifferenceWeights weights = weights_argument(options.weights);
  const double index = number_argument("--floor-index", options.floor_index, 1.01, 2);
  const PasteSet set = read_paste_set(options.pastes);
  std::vector<std::string> warnings;
  const Reflectance in_air =
      floor_argument(options.floor, viewing, set.pastes.front().absorption.grid(), warnings);
  // The paste touches the floor: what counts is its reflectance under the surface.
  const Interface surface = interface_of(index, options.specular_included);
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
  const Stack stack{.floor = Reflectance(in_air.grid(), std::move(floor)),
                    .layers = layers_argument(options.layers, set),
                    .specular_included = options.specular_included};
  const Reflectance seen = predict(stack);
  const Lab lab = to_lab(seen, viewing);
  std::optional<double> difference;
  if (!options.target.empty()) {
    const auto target = list_argument("--target", options.target, 3);
    difference = de00({target[0], target[1], target[2]}, lab, weights);
  }
  for (const std::string& warning : warnings) {
    std::cerr << "mamelon: warning: " << warning << '\n';
  }
  if (options.json) {
    print(detail::dump(
        detail::Json{{"reflectance", detail::json_of(seen)},
                     {"lab", detail::json_of(lab)},
                     {"de00", difference ? detail::Json(*difference) : detail::Json(nullptr)}}));
    return exit_code::done;
  }
  const std::string colour = swatch(Terminal::of_stdout(), lab, viewing);
  print("L* " + format_fixed(lab.l, 2) + "  a* " + format_fixed(lab.a, 2) + "  b* " +
        format_fixed(lab.b, 2) + "  under " + to_string(viewing) +
        (colour.empty() ? "" : "  " + colour) +
        (difference ? "\nΔE00 " + format_fixed(*difference, 2) + " from the target" : "") +
        "\nCured, not uncured, material is modelled.\n");
  return exit_code::done;
}

void add_predict(CLI::App& paste, Action& chosen) {
  const auto options = std::make_shared<PredictOptions>();
  CLI::App* verb = paste.add_subcommand("predict", "The colour of a given stack of pastes");
  verb->add_option("PASTES", options->pastes, "Your measured pastes (JSON document)")
      ->type_name("FILE")
      ->required();
  verb->add_option("--layers", options->layers,
                   "Pastes and thicknesses in mm, from the floor outward")
      ->type_name("NAME:MM,…")
      ->required();
  verb->add_option("--floor", options->floor,
                   "The floor: CSV wavelength_nm,reflectance (0–1, seen in air), or its L*,a*,b*")
      ->type_name("FILE|L,a,b")
      ->required();
  verb->add_option("--floor-index", options->floor_index,
                   "Refractive index of the floor; 1.54 is dentine")
      ->type_name("N")
      ->capture_default_str();
  verb->add_flag("--specular-included", options->specular_included,
                 "Floor and result are with the surface's gloss included");
  verb->add_option("--viewing", options->viewing, "Illuminant and observer (2 or 10 degrees)")
      ->type_name("ILL/OBS")
      ->capture_default_str();
  verb->add_option("--target", options->target, "A colour to compare with")->type_name("L,a,b");
  verb->add_option("--weights", options->weights, "kL:kC:kH of CIEDE2000; 1:1:1 or 2:1:1")
      ->type_name("L:C:H")
      ->capture_default_str();
  verb->add_flag("--json", options->json, "One JSON document on standard output");
  verb->footer(
      "Example:\n  mamelon paste predict data/pastes/orchard10.json --layers loam:2.2,petal:0.8 "
      "--floor data/floors/sound_dentine.csv --target 74,2,18");
  verb->callback([options, &chosen] { chosen = [options] { return predict_colour(*options); }; });
}

}  // namespace

void add_paste(CLI::App& app, Action& chosen) {
  CLI::App* paste = app.add_subcommand("paste", "Optical constants of pastes and their colour");
  paste->require_subcommand(1);
  add_predict(*paste, chosen);
}

}  // namespace mamelon::cli
