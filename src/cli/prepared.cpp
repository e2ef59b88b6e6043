#include "cli/prepared.h"

#include <algorithm>
#include <utility>

#include "cli/arguments.h"
#include "cli/measure.h"
#include "cli/progress.h"

namespace mamelon::cli {
namespace {

// The floor in a photo: all zones of what the box or mask shows, as repeats of one thing.
Reading floor_in_photo(const PreparedOptions& options, MeasureOptions measure_options,
                       std::vector<std::string>& warnings) {
  measure_options.input = options.floor.floor;
  measure_options.teeth.clear();
  // They stand in the tooth's photo.
  measure_options.tab_boxes.clear();
  measure_options.box = options.floor_box;
  measure_options.mask = options.floor_mask;
  if (options.floor_box.empty() == options.floor_mask.empty()) {
    throw ArgumentError(
        "--floor: say where the floor is in the photo with either --floor-box or --floor-mask");
  }
  const TabSet no_tabs{
      .name = {}, .tabs = {}, .viewing = viewing_of(measure_options.viewing), .provenance = {}};
  Progress progress;
  Measurement found = measure(measure_options, no_tabs, progress);
  warnings.insert(warnings.end(), found.warnings.begin(), found.warnings.end());
  for (Reading& reading : found.readings) reading.zone.clear();
  return combine(found.readings);
}

Floor floor_of(const PreparedOptions& options, const MeasureOptions& measure_options,
               const Grid& grid, std::vector<std::string>& warnings) {
  const Viewing viewing = viewing_of(measure_options.viewing);
  std::optional<Reading> reading = colour_argument("--floor", options.floor.floor, viewing);
  if (!reading && is_photo(options.floor.floor)) {
    reading = floor_in_photo(options, measure_options, warnings);
  }
  if (!reading) {
    return {floor_argument(options.floor.floor, viewing, grid,
                           table_options(measure_options.viewing), warnings),
            {},
            false};
  }
  warnings.push_back(
      "the floor was given as a colour: the smoothest reflectance of that colour stands in for its "
      "spectrum");
  return floor_of(*reading, grid);
}

// NAME=WEIGHT
std::pair<Illuminant, double> light_argument(const std::string& text) {
  const std::size_t at = text.find('=');
  if (at == std::string::npos) {
    throw ArgumentError("--also-under: expected NAME=WEIGHT as A=0.5, got \"" + text.substr(0, 40) +
                        "\"");
  }
  return {standard_illuminant(text.substr(0, at)),
          number_argument("--also-under", text.substr(at + 1), 0, 100)};
}

}  // namespace

void add_prepared_options(CLI::App& verb, PreparedOptions& options) {
  add_pastes_option(verb, "--pastes", options.pastes);
  add_floor_options(verb, options.floor, "Tooth and floor were read");
  verb.add_option("--depth", options.depth, "Depth to fill, in mm, up to 20")
      ->type_name("MM")
      ->required();
  verb.add_option("--layers", options.layers, "Most pastes in a plan, 1 to 3")
      ->type_name("N")
      ->capture_default_str();
  verb.add_option("--thickness-sd", options.thickness_sd,
                  "How well you hold a layer's thickness, as a standard deviation in mm")
      ->type_name("MM")
      ->capture_default_str();
  verb.add_option("--also-under", options.lights,
                  "A further light that counts, with its weight beside the target's own light of "
                  "weight 1, such as A=0.5; repeatable")
      ->type_name("NAME=WEIGHT");
  verb.add_option("--lamp", options.lamp,
                  "Irradiance of your curing light at the paste, in mW/cm²; gives exposure times")
      ->type_name("MW/CM2");
  verb.add_option("--order", options.placing,
                  "How increments go in: flat, oblique (two wedges each) or wall_first (along the "
                  "walls, then the core)")
      ->type_name("ORDER")
      ->capture_default_str();
  verb.add_flag("--contact-wall", options.contact_wall,
                "A box with a neighbour: its contact wall is built first");
  verb.add_flag("--any-order", options.any_order,
                "Allow layers that do not run from opaque at the floor to translucent outside");
}

PlanRequest prepared_request(const PreparedOptions& options, const MeasureOptions& measure_options,
                             std::vector<std::string>& warnings) {
  const Viewing viewing = viewing_of(measure_options.viewing);
  PlanRequest request{.target = {"", "", {}, {}, viewing, 1, {}, {}}};
  request.depth_mm = number_argument("--depth", options.depth, 1e-6, 20);
  request.thickness_sd_mm = number_argument("--thickness-sd", options.thickness_sd, 0, 2);
  request.floor_refractive_index = floor_index_of(options.floor);
  request.specular_included = options.floor.specular_included;
  request.max_layers = static_cast<int>(number_argument("--layers", options.layers, 1, 3));
  request.role_order = !options.any_order;
  request.certify = !options.quick;
  request.placing.order = from_string<Placement>(options.placing);
  request.placing.contact_wall = options.contact_wall;
  if (!options.lamp.empty())
    request.placing.lamp_irradiance_mw_cm2 = number_argument("--lamp", options.lamp, 100, 5000);
  for (const char* name : {"D65", "A", "LED-B3"}) {
    request.illuminants.push_back(standard_illuminant(name));
    request.illuminant_weights.push_back(0);
  }
  for (const std::string& text : options.lights) {
    auto [light, weight] = light_argument(text);
    request.illuminants.push_back(std::move(light));
    request.illuminant_weights.push_back(weight);
  }
  request.pastes = read_paste_set(options.pastes);
  Floor floor =
      floor_of(options, measure_options, request.pastes.pastes.front().absorption.grid(), warnings);
  request.floor = std::move(floor.reflectance);
  request.floor_errors = std::move(floor.errors);
  return request;
}

}  // namespace mamelon::cli
