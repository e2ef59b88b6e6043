// What one run found, as the JSON document of `shade` and `plan`.

#include <algorithm>
#include <string>
#include <utility>

#include "mamelon/files.h"

#include "io/json_write.h"
#include "io/plan_json.h"
#include "io/report_digest.h"

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

// What `plan` says beyond `shade`.
void add_plans(const Report& report, Json& root) {
  const PlanSet& set = *report.plans;
  Json plans = Json::array();
  for (const Plan& plan : set.plans) plans.push_back(detail::json_of(plan));
  root["plans"] = std::move(plans);
  root["recommended"] = set.recommended;
  root["why"] = set.why;
  root["gains"] = Json::array();
  for (const LayerGain& gain : set.gains) root["gains"].push_back(detail::json_of(gain));
  root["ties"] = Json::array();
  for (const PartingTie& tie : set.ties) root["ties"].push_back(detail::json_of(tie));
  root["out_of_reach"] = detail::json_of(set.out_of_reach);
  root["zones"] = Json::array();
  for (std::size_t i = 0; i < report.zone_plans.size(); ++i) {
    const Reading& reading = report.readings[i];
    root["zones"].push_back(Json{{"label", reading.label},
                                 {"zone", reading.zone},
                                 {"plan", detail::json_of(report.zone_plans[i])}});
  }
  root["cautions"] = cautions();
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
  if (report.plans != nullptr) add_plans(report, root);
  return detail::dump_results(std::move(root));
}

}  // namespace mamelon
