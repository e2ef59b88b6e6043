// `mamelon paste`: optical constants from drawdowns, and the colour of a given stack of pastes.

#include <algorithm>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "mamelon/mamelon.h"

#include "base/numbers.h"
#include "cli/arguments.h"
#include "cli/paste_fit_verb.h"
#include "cli/print.h"
#include "cli/shared_options.h"
#include "cli/terminal.h"
#include "cli/verbs.h"
#include "io/json_write.h"

namespace mamelon::cli {
namespace {

using detail::format_fixed;

struct PredictOptions {
  FloorOptions floor;
  ViewingOptions viewing;
  std::string pastes, layers, target;
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
  const Viewing viewing = viewing_of(options.viewing);
  const DifferenceWeights weights = weights_argument(options.weights);
  const double index = floor_index_of(options.floor);
  const PasteSet set = read_paste_set(options.pastes);
  std::vector<std::string> warnings;
  const Reflectance in_air =
      floor_argument(options.floor.floor, viewing, set.pastes.front().absorption.grid(),
                     table_options(options.viewing), warnings);
  // The paste touches the floor: what counts is its reflectance under the surface.
  const Interface surface = interface_of(index, options.floor.specular_included);
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
                    .specular_included = options.floor.specular_included};
  const Engine engine = engine_argument(options.engine, stack);
  const std::vector<double> thickness_sd(
      stack.layers.size(), number_argument("--thickness-sd", options.thickness_sd, 0, 5));
  const FittedPrediction prediction = predict_with_error(
      stack, thickness_sd, viewing, engine, whole_argument("--streams", options.streams, 4, 32));
  const Reflectance& seen = prediction.reflectance;
  warnings.insert(warnings.end(), prediction.warnings.begin(), prediction.warnings.end());
  const Lab lab = prediction.lab.value;
  const Vec3 sd = prediction.lab.sd();
  std::optional<double> difference;
  if (!options.target.empty()) {
    const auto target = list_argument("--target", options.target, 3);
    difference = de00({target[0], target[1], target[2]}, lab, weights);
  }
  print_warnings(warnings);
  if (options.json) {
    print(detail::dump(
        detail::Json{{"reflectance", detail::json_of(seen)},
                     {"lab", detail::json_of(lab)},
                     {"de00", difference ? detail::Json(*difference) : detail::Json(nullptr)},
                     {"engine", engine == Engine::transport ? "transport" : "kubelka-munk"},
                     {"reflectance_sd", prediction.reflectance_sd},
                     {"lab_sd", sd},
                     {"warnings", warnings}}));
    return exit_code::done;
  }
  const Terminal terminal = Terminal::of_stdout();
  const std::string colour = swatch(terminal, lab, viewing);
  const auto line = [&](const std::string& text) {
    return wrapped(text, terminal.width, 2) + "\n";
  };
  const auto coordinate = [](const char* name, double value, double spread) {
    return std::string(name) + " " + format_fixed(value, 2) + " ± " + format_fixed(spread, 2);
  };
  print(line(coordinate("L*", lab.l, sd[0]) + "  " + coordinate("a*", lab.a, sd[1]) + "  " +
             coordinate("b*", lab.b, sd[2]) + "  under " + to_string(viewing) +
             (colour.empty() ? "" : "  " + colour)) +
        line(std::string("± is one standard deviation: constants of the pastes, thicknesses (") +
             options.thickness_sd + " mm) and model; by " +
             (engine == Engine::transport ? "radiative transfer." : "two fluxes.")) +
        (difference ? line("ΔE00 " + format_fixed(*difference, 2) + " from the target") : "") +
        line("Cured, not uncured, material is modelled."));
  return exit_code::done;
}

void add_predict(CLI::App& paste, Action& chosen) {
  const auto options = std::make_shared<PredictOptions>();
  CLI::App* verb = paste.add_subcommand("predict", "The colour of a given stack of pastes");
  add_pastes_option(*verb, "PASTES", options->pastes);
  verb->add_option("--layers", options->layers,
                   "Pastes and thicknesses in mm, from the floor outward")
      ->type_name("NAME:MM,…")
      ->required();
  add_floor_options(*verb, options->floor, "Floor and result are");
  add_viewing_options(*verb, options->viewing);
  verb->add_option("--target", options->target, "A colour to compare with")->type_name("L,a,b");
  add_weights_option(*verb, options->weights);
  verb->add_option("--engine", options->engine,
                   "kubelka-munk (two fluxes), transport (discrete ordinates, for pastes with "
                   "transport constants) or best (transport where every paste has them)")
      ->type_name("ENGINE")
      ->capture_default_str();
  verb->add_option("--thickness-sd", options->thickness_sd,
                   "Standard deviation of each layer's thickness, mm")
      ->type_name("MM")
      ->capture_default_str();
  verb->add_option("--streams", options->streams,
                   "Directions per hemisphere of transport: 4, 6, 8, 16 or 32")
      ->type_name("N")
      ->capture_default_str();
  add_json_flag(*verb, options->json);
  verb->footer(
      "Example:\n  mamelon paste predict data/pastes/orchard10.json --layers loam:2.2,petal:0.8 "
      "--floor data/floors/sound_dentine.csv --target 74,2,18");
  verb->callback([options, &chosen] { chosen = [options] { return predict_colour(*options); }; });
}

}  // namespace

void add_paste(CLI::App& app, Action& chosen) {
  CLI::App* paste = app.add_subcommand("paste", "Optical constants of pastes and their colour");
  paste->require_subcommand(1);
  add_paste_fit(*paste, chosen);
  add_paste_template(*paste, chosen);
  add_predict(*paste, chosen);
}

}  // namespace mamelon::cli
