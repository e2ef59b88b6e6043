// `mamelon card`: how well a photo's card fits.

#include <memory>
#include <string>

#include "cli/arguments.h"
#include "cli/measure.h"
#include "cli/print.h"
#include "cli/terminal.h"
#include "cli/verbs.h"
#include "faces/json_write.h"

namespace mamelon::cli {
namespace {

using detail::Json;

struct Options {
  MeasureOptions measure;
  bool json = false;
};

Json json_of(const PatchFit& patch) {
  Json node{{"name", patch.name}, {"used", patch.used}};
  if (!patch.used) node["reason"] = patch.reason;
  node["pixels"] = patch.pixels;
  node["clipped_fraction"] = patch.clipped_fraction;
  node["reference"] = detail::json_of(patch.reference);
  if (patch.used) {
    node["fitted"] = detail::json_of(patch.fitted);
    node["de00"] = patch.de00;
    node["loo_de00"] = patch.loo_de00;
  }
  return node;
}

int run(const Options& options) {
  const Viewing viewing = viewing_argument(options.measure.viewing);
  const Card card = card_argument(options.measure);
  const Photo photo =
      read_photo(options.measure.input, {.camera_rendering = options.measure.camera_rendering});
  const CardFit fit = fit_card(photo, card, viewing, fit_options(options.measure));
  Report warned{.label = {},
                .viewing = viewing,
                .readings = {},
                .matches = {},
                .planned_zone = {},
                .warnings = photo.warnings};
  warned.warnings.insert(warned.warnings.end(), fit.warnings.begin(), fit.warnings.end());
  print_warnings(warned);
  if (!options.json) {
    print(card_text(Terminal::of_stdout(), fit));
    return exit_code::done;
  }
  Json patches = Json::array();
  for (const PatchFit& patch : fit.patches) patches.push_back(json_of(patch));
  print(detail::dump(
      Json{{"mamelon", {{"version", library_version()}, {"provenance", fit.provenance.digest}}},
           {"card",
            {{"name", card.name},
             {"method", to_string(fit.correction->method())},
             {"loo_de00_median", fit.loo_de00_median},
             {"loo_de00_max", fit.loo_de00_max},
             {"reprojection_rms_px", fit.reprojection_rms_px}}},
           {"encoding", to_string(photo.encoding)},
           {"patches", std::move(patches)},
           {"warnings", warned.warnings}}));
  return exit_code::done;
}

}  // namespace

void add_card(CLI::App& app, Action& chosen) {
  const auto options = std::make_shared<Options>();
  CLI::App* verb = app.add_subcommand("card", "How well the reference card in a photo fits");
  verb->add_option("PHOTO", options->measure.input, "Photo: JPEG, PNG or TIFF")->required();
  add_card_options(*verb, options->measure);
  verb->add_flag("--json", options->json, "One JSON document on standard output");
  verb->footer(
      "Example:\n  mamelon card data/photos/front_teeth.jpg --card data/cards/tooth20.json");
  verb->callback([options, &chosen] { chosen = [options] { return run(*options); }; });
}

}  // namespace mamelon::cli
