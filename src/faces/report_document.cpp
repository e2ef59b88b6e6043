// What one run found, as the JSON document of `shade` and `plan`.

#include <algorithm>
#include <string>

#include "mamelon/files.h"

#include "faces/json_write.h"
#include "faces/report_digest.h"

namespace mamelon {
namespace {

using detail::Json;

Json json_of(const RankedTab& tab) {
  return Json{{"tab", tab.tab},
              {"de00", tab.de00},
              {"low", tab.low},
              {"high", tab.high},
              {"chance_best", tab.chance_best},
              {"dL", tab.dl},
              {"dC", tab.dc},
              {"dH", tab.dh},
              {"grade", to_string(tab.grade)}};
}

Json json_of(const Reading& reading, const Match* match) {
  Json matches = Json::array();
  Json warnings = reading.warnings;
  if (match != nullptr) {
    for (const RankedTab& tab : match->ranked) matches.push_back(json_of(tab));
    for (const std::string& warning : match->warnings) warnings.push_back(warning);
  }
  return Json{{"label", reading.label},
              {"zone", reading.zone},
              {"lab", detail::json_of(reading.lab.value)},
              {"sd", reading.lab.sd()},
              {"cov", reading.lab.covariance()},
              {"n", reading.count},
              {"matches", std::move(matches)},
              {"warnings", std::move(warnings)}};
}

Json json_of(const Plan& plan, double bound) {
  Json layers = Json::array();
  for (const PlannedLayer& layer : plan.layers) {
    layers.push_back(Json{{"paste", layer.paste}, {"thickness_mm", layer.thickness_mm}});
  }
  Json increments = Json::array();
  for (const Increment& step : plan.increments) {
    increments.push_back(
        Json{{"order", step.order},
             {"paste", step.paste},
             {"thickness_mm", step.thickness_mm},
             {"exposure_j_cm2", step.exposure_j_cm2},
             {"exposure_s", step.exposure_s ? Json(*step.exposure_s) : Json(nullptr)}});
  }
  Json predicted = Json::array();
  for (const PredictedColour& colour : plan.predicted) {
    predicted.push_back(Json{{"illuminant", colour.viewing.illuminant.name()},
                             {"lab", detail::json_of(colour.lab)},
                             {"de00", colour.de00}});
  }
  return Json{{"layers", std::move(layers)},
              {"increments", std::move(increments)},
              {"predicted", std::move(predicted)},
              {"de00", plan.de00},
              {"de00_expected", plan.de00_expected},
              {"de00_p95", plan.de00_p95},
              {"bound", bound},
              {"metamerism", plan.metamerism}};
}

}  // namespace

std::string report_digest(const Report& report) {
  std::vector<std::string> inputs;
  for (const Reading& reading : report.readings) inputs.push_back(reading.provenance.digest);
  for (const Match& match : report.matches) inputs.push_back(match.provenance.digest);
  if (report.plans != nullptr) inputs.push_back(report.plans->provenance.digest);
  return make_provenance("report", to_string(report.viewing), std::move(inputs)).digest;
}

std::string to_json(const Report& report) {
  Json readings = Json::array();
  for (std::size_t i = 0; i < report.readings.size(); ++i) {
    readings.push_back(
        json_of(report.readings[i], i < report.matches.size() ? &report.matches[i] : nullptr));
  }
  const bool two_degree = report.viewing.observer == Observer::deg2;
  Json root{
      {"mamelon", {{"version", library_version()}, {"provenance", report_digest(report)}}},
      {"viewing",
       {{"illuminant", report.viewing.illuminant.name()}, {"observer", two_degree ? "2" : "10"}}},
      {"readings", std::move(readings)}};
  if (report.fit != nullptr) {
    root["card"] = Json{{"loo_de00_median", report.fit->loo_de00_median},
                        {"loo_de00_max", report.fit->loo_de00_max}};
  } else {
    root["card"] = nullptr;
  }
  root["warnings"] = report.warnings;
  if (report.plans != nullptr) {
    Json plans = Json::array();
    for (const Plan& plan : report.plans->plans)
      plans.push_back(json_of(plan, report.plans->bound));
    root["plans"] = std::move(plans);
    root["recommended"] = report.plans->recommended;
    root["why"] = report.plans->why;
  }
  return detail::dump(root);
}

}  // namespace mamelon
