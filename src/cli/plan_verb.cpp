// `mamelon plan`: photo or readings to ranked tabs and on to increments.

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "base/listing.h"
#include "cli/prepared.h"
#include "cli/print.h"
#include "cli/rank.h"
#include "cli/verbs.h"

namespace mamelon::cli {
namespace {

struct Options {
  RankOptions rank;
  PreparedOptions prepared;
  std::string zone;
  bool zones = false;
};

const Reading& planned_reading(const std::vector<Reading>& readings, const std::string& zone) {
  std::vector<std::string> known;
  for (const Reading& reading : readings) {
    const bool wanted = zone.empty() ? readings.size() == 1 || reading.zone == "middle"
                                     : reading.zone == zone || reading.label == zone;
    if (wanted) return reading;
    known.push_back(reading.zone.empty() ? reading.label : reading.zone);
  }
  throw ArgumentError(
      "--zone: " +
      (zone.empty() ? "say which is planned for" : "no reading is named \"" + zone + "\"") +
      "; there are " + detail::listing(known));
}

std::vector<Plan> plans_of_zones(const PlanRequest& request, const PlanSet& plans,
                                 const std::vector<Reading>& readings) {
  std::vector<std::string> pastes;
  for (const PlannedLayer& layer : plans.plans.at(plans.recommended).layers) {
    pastes.push_back(layer.paste);
  }
  return plan_zones(request, pastes, readings);
}

int run(const Options& options) {
  check_output(options.rank.sheet);
  std::vector<std::string> warnings;
  PlanRequest request = prepared_request(options.prepared, options.rank.measure, warnings);

  std::optional<Progress> progress(std::in_place);
  Ranking ranking(options.rank, *progress);
  Report& report = ranking.report;
  report.warnings.insert(report.warnings.end(), warnings.begin(), warnings.end());
  report.pastes = &request.pastes;
  request.target = planned_reading(report.readings, options.zone);
  request.weights = ranking.match_options.weights;
  report.planned_zone = request.target.zone.empty() ? request.target.label : request.target.zone;
  progress->at(0.8, "planning the layers");
  const PlanSet plans = plan(request);
  progress.reset();
  report.request = &request;
  report.plans = &plans;
  report.warnings.insert(report.warnings.end(), plans.warnings.begin(), plans.warnings.end());
  if (options.zones) report.zone_plans = plans_of_zones(request, plans, report.readings);
  const bool negative =
      plans.plans.empty() || plans.plans.at(plans.recommended).de00 > threshold::acceptable_de00;

  deliver(options.rank, report, [&](const Terminal& terminal) {
    return shade_text(terminal, report, ranking.top) + plan_text(terminal, report) +
           cautions_text(terminal);
  });
  return negative ? exit_code::negative : exit_code::done;
}

}  // namespace

void add_plan(CLI::App& app, Action& chosen) {
  const auto options = std::make_shared<Options>();
  CLI::App* verb =
      app.add_subcommand("plan", "A photo or readings to ranked tabs and layered increments");
  add_input_options(*verb, options->rank);
  add_prepared_options(*verb, options->prepared);
  verb->add_option("--floor-box", options->prepared.floor_box,
                   "Where the floor is, when --floor is a photo of the prepared cavity with the "
                   "card: a box in pixels")
      ->type_name("X,Y,W,H");
  verb->add_option("--floor-mask", options->prepared.floor_mask,
                   "The same as a PNG of that photo's size, white on the floor")
      ->type_name("FILE");
  verb->add_option("--zone", options->zone,
                   "Zone (or label) planned for; middle when the photo's zones are read")
      ->type_name("NAME");
  verb->add_flag("--zones", options->zones,
                 "Also the same pastes for every zone, each with its own thicknesses");
  add_rank_options(*verb, options->rank);
  verb->footer(
      "The exit code is 1 when no plan is within the acceptance threshold.\n\nExample:\n"
      "  mamelon plan data/photos/front_teeth.jpg --card data/cards/tooth20.json "
      "--tabs data/tabs/orchard16.json --pastes data/pastes/orchard10.json "
      "--floor data/floors/sound_dentine.csv --depth 3 --lamp 1000 --sheet plan.html");
  verb->callback([options, &chosen] { chosen = [options] { return run(*options); }; });
}

}  // namespace mamelon::cli
