// `mamelon plan`: photo or readings to ranked tabs and on to increments.

#include <algorithm>
#include <memory>
#include <string>

#include "mamelon/sheet.h"

#include "cli/arguments.h"
#include "cli/measure.h"
#include "cli/print.h"
#include "cli/terminal.h"
#include "cli/verbs.h"

namespace mamelon::cli {
namespace {

struct Options {
  MeasureOptions measure;
  std::string tabs, pastes, floor, depth;
  std::string zone;
  std::string lamp;
  std::string layers = "2";
  std::string thickness_sd = "0.15";
  std::string weights = "1:1:1";
  std::string top = "5";
  std::string sheet;
  std::string floor_index = "1.54";
  bool any_order = false;
  bool specular_included = false;
  bool json = false;
};

const Reading& planned_reading(const std::vector<Reading>& readings, const std::string& zone) {
  std::string known;
  for (const Reading& reading : readings) {
    const bool wanted = zone.empty() ? readings.size() == 1 || reading.zone == "middle"
                                     : reading.zone == zone || reading.label == zone;
    if (wanted) return reading;
    known += (known.empty() ? "" : ", ") + (reading.zone.empty() ? reading.label : reading.zone);
  }
  throw ArgumentError(
      "--zone: " +
      (zone.empty() ? "say which is planned for" : "no reading is named \"" + zone + "\"") +
      "; there are " + known);
}

int run(const Options& options) {
  const auto top = static_cast<std::size_t>(number_argument("--top", options.top, 1, 1000));
  const MatchOptions match_options{.weights = weights_argument(options.weights)};
  const double depth_mm = number_argument("--depth", options.depth, 1e-6, 20);
  const double lamp = options.lamp.empty() ? 0 : number_argument("--lamp", options.lamp, 100, 5000);
  const double thickness_sd = number_argument("--thickness-sd", options.thickness_sd, 0, 2);
  const double floor_index = number_argument("--floor-index", options.floor_index, 1.01, 2);
  const int layers = static_cast<int>(number_argument("--layers", options.layers, 1, 3));
  const TabSet tabs = read_tab_set(options.tabs);
  const PasteSet pastes = read_paste_set(options.pastes);
  const Viewing viewing = viewing_argument(options.measure.viewing);
  std::vector<std::string> floor_warnings;
  const Reflectance floor = floor_argument(options.floor, viewing,
                                           pastes.pastes.front().absorption.grid(), floor_warnings);

  const Measurement measurement = measure(options.measure);
  Report report = report_of(options.measure, measurement);
  report.warnings.insert(report.warnings.end(), floor_warnings.begin(), floor_warnings.end());
  report.tabs = &tabs;
  report.pastes = &pastes;
  for (const Reading& reading : report.readings) {
    report.matches.push_back(match(reading, tabs, match_options));
  }
  PlanRequest request{.target = planned_reading(report.readings, options.zone),
                      .pastes = pastes,
                      .floor = floor,
                      .floor_refractive_index = floor_index,
                      .specular_included = options.specular_included,
                      .depth_mm = depth_mm,
                      .max_layers = layers,
                      .thickness_sd_mm = thickness_sd,
                      .role_order = !options.any_order,
                      .lamp_irradiance_mw_cm2 = lamp,
                      .illuminants = {standard_illuminant("D65"), standard_illuminant("A"),
                                      standard_illuminant("LED-B3")},
                      .weights = match_options.weights};
  report.planned_zone = request.target.zone.empty() ? request.target.label : request.target.zone;
  const PlanSet plans = plan(request);
  report.request = &request;
  report.plans = &plans;
  report.warnings.insert(report.warnings.end(), plans.warnings.begin(), plans.warnings.end());
  const bool negative =
      plans.plans.empty() || plans.plans.at(plans.recommended).de00 > threshold::acceptable_de00;

  if (!options.sheet.empty()) write_file_atomically(options.sheet, sheet_html(report));
  print_warnings(report);
  if (options.json) {
    print(to_json(report));
  } else {
    const Terminal terminal = Terminal::of_stdout();
    print(shade_text(terminal, report, top) + plan_text(terminal, report) +
          cautions_text(terminal));
  }
  return negative ? exit_code::negative : exit_code::done;
}

}  // namespace

void add_plan(CLI::App& app, Action& chosen) {
  const auto options = std::make_shared<Options>();
  CLI::App* verb =
      app.add_subcommand("plan", "A photo or readings to ranked tabs and layered increments");
  verb->add_option("INPUT", options->measure.input,
                   "Photo (JPEG, PNG, TIFF) or table of readings (CSV)")
      ->required();
  verb->add_option("--tabs", options->tabs, "Your measured tabs (JSON document)")
      ->type_name("FILE")
      ->required();
  verb->add_option("--pastes", options->pastes, "Your measured pastes (JSON document)")
      ->type_name("FILE")
      ->required();
  verb->add_option("--floor", options->floor,
                   "The prepared floor: CSV wavelength_nm,reflectance (0–1, seen in air), or its "
                   "L*,a*,b*")
      ->type_name("FILE|L,a,b")
      ->required();
  verb->add_option("--floor-index", options->floor_index,
                   "Refractive index of the floor; 1.54 is dentine")
      ->type_name("N")
      ->capture_default_str();
  verb->add_flag("--specular-included", options->specular_included,
                 "Tooth and floor were read with the surface's gloss included");
  verb->add_option("--depth", options->depth, "Depth to fill, in mm, up to 20")
      ->type_name("MM")
      ->required();
  verb->add_option("--zone", options->zone,
                   "Zone (or label) planned for; middle when the photo's zones are read")
      ->type_name("NAME");
  verb->add_option("--layers", options->layers, "Most pastes in a plan, 1 to 3")
      ->type_name("N")
      ->capture_default_str();
  verb->add_option("--thickness-sd", options->thickness_sd,
                   "How well you hold a layer's thickness, as a standard deviation in mm")
      ->type_name("MM")
      ->capture_default_str();
  verb->add_option("--lamp", options->lamp,
                   "Irradiance of your curing light at the paste, in mW/cm²; gives exposure times")
      ->type_name("MW/CM2");
  verb->add_flag("--any-order", options->any_order,
                 "Allow layers that do not run from opaque at the floor to translucent outside");
  add_measure_options(*verb, options->measure);
  verb->add_option("--weights", options->weights, "kL:kC:kH of CIEDE2000; 1:1:1 or 2:1:1")
      ->type_name("L:C:H")
      ->capture_default_str();
  verb->add_option("--top", options->top, "Tabs to print for each zone")
      ->type_name("N")
      ->capture_default_str();
  verb->add_option("--sheet", options->sheet, "Write the sheet (HTML) to this file")
      ->type_name("FILE");
  verb->add_flag("--json", options->json, "One JSON document on standard output");
  verb->footer(
      "The exit code is 1 when no plan is within the acceptance threshold.\n\nExample:\n"
      "  mamelon plan data/photos/front_teeth.jpg --card data/cards/tooth20.json "
      "--tabs data/tabs/orchard16.json --pastes data/pastes/orchard10.json "
      "--floor data/floors/sound_dentine.csv --depth 3 --lamp 1000 --sheet plan.html");
  verb->callback([options, &chosen] { chosen = [options] { return run(*options); }; });
}

}  // namespace mamelon::cli
