// What one run found, as the JSON document of `shade` and `plan`.

#include <algorithm>
#include <string>
#include <utility>

#include "mamelon/files.h"

#include "io/json_write.h"
#include "io/plan_json.h"

namespace mamelon {
namespace {

using detail::Json;

// The narrowest threshold that ΔE00 lies within with 95 %.
Json equivalence_of(const RankedTab& tab) {
  if (tab.surely_perceptible_match) return "perceptibility";
  return tab.surely_acceptable_match ? Json("acceptability") : Json(nullptr);
}

// A value of ΔE00 outside its own interval, and the grade of a reading that decides nothing, are
// not stated.
Json json_of(const RankedTab& tab, bool decides) {
  return Json{{"tab", tab.tab},
              {"de00", is_inside_interval(tab) ? Json(tab.de00) : Json(nullptr)},
              {"low", tab.low},
              {"high", tab.high},
              {"chance_best", tab.chance_best},
              {"chance_acceptable", tab.chance_acceptable},
              {"equivalent_within", equivalence_of(tab)},
              {"dL", tab.dl},
              {"dC", tab.dc},
              {"dH", tab.dh},
              {"grade", decides ? Json(to_string(tab.grade)) : Json(nullptr)}};
}

Json json_of(const ToothReport& tooth, std::size_t i) {
  const Reading& reading = tooth.readings[i];
  const bool decides = tooth.decides(i);
  Json matches = Json::array();
  Json warnings = Json::array();
  if (!decides) warnings.push_back(*tooth.withheld[i]);
  for (const std::string& warning : reading.warnings) warnings.push_back(warning);
  if (i < tooth.matches.size()) {
    for (const RankedTab& tab : tooth.matches[i].ranked) matches.push_back(json_of(tab, decides));
    for (const std::string& warning : tooth.matches[i].warnings) warnings.push_back(warning);
  }
  const bool known = is_uncertainty_known(reading);
  return Json{{"label", reading.label},
              {"zone", reading.zone},
              {"lab", detail::json_of(reading.lab.value)},
              {"sd", known ? Json(reading.lab.sd()) : Json(nullptr)},
              {"cov", known ? Json(reading.lab.covariance()) : Json(nullptr)},
              {"n", reading.count},
              {"matches", std::move(matches)},
              {"prior", i < tooth.matches.size() ? Json(tooth.matches[i].prior) : Json(nullptr)},
              {"warnings", std::move(warnings)}};
}

// What `plan` says beyond `shade`, of one tooth.
void add_plans(const ToothReport& tooth, Json& root) {
  const PlanSet set = tooth.plans.value_or(PlanSet{});
  Json plans = Json::array();
  for (const Plan& plan : set.plans) plans.push_back(detail::json_of(plan));
  root["plans"] = std::move(plans);
  root["recommended"] = tooth.plans ? Json(set.recommended) : Json(nullptr);
  root["as_good"] = Json::array();
  for (std::size_t i = 0; i < set.plans.size(); ++i) {
    if (i != set.recommended && is_as_good(set.plans[i], set.plans[set.recommended])) {
      root["as_good"].push_back(i);
    }
  }
  root["why"] = tooth.decides(tooth.planned) ? set.why : *tooth.withheld[tooth.planned];
  root["gains"] = Json::array();
  for (const LayerGain& gain : set.gains) root["gains"].push_back(detail::json_of(gain));
  root["ties"] = Json::array();
  for (const PartingTie& tie : set.ties) root["ties"].push_back(detail::json_of(tie));
  root["out_of_reach"] = detail::json_of(set.out_of_reach);
  root["zones"] = Json::array();
  for (std::size_t i = 0; i < tooth.zone_plans.size(); ++i) {
    const Reading& reading = tooth.readings[i];
    root["zones"].push_back(Json{{"label", reading.label},
                                 {"zone", reading.zone},
                                 {"plan", detail::json_of(tooth.zone_plans[i])}});
  }
}

Json json_of(const ToothReport& tooth, const Report& report) {
  Json out{{"name", tooth.name},
           {"number", tooth.number ? Json(*tooth.number) : Json(nullptr)},
           {"readings", tooth.readings.size()},
           {"planned", name_of(tooth.readings[tooth.planned])}};
  if (report.request) add_plans(tooth, out);
  return out;
}

}  // namespace

std::string to_json(const Report& report) {
  Json readings = Json::array();
  for (const ToothReport& tooth : report.teeth) {
    for (std::size_t i = 0; i < tooth.readings.size(); ++i) readings.push_back(json_of(tooth, i));
  }
  const bool two_degree = report.viewing.observer == Observer::deg2;
  Json root{
      {"mamelon", {{"version", library_version()}, {"provenance", report.provenance.digest}}},
      {"viewing",
       {{"illuminant", report.viewing.illuminant.name()}, {"observer", two_degree ? "2" : "10"}}},
      {"readings", std::move(readings)}};
  root["card"] = report.fit ? Json{{"loo_de00_median", report.fit->loo_de00_median},
                                   {"loo_de00_max", report.fit->loo_de00_max}}
                            : Json(nullptr);
  Json warnings = report.warnings;
  for (const std::string& note : report.notes) {
    if (std::find(warnings.begin(), warnings.end(), note) == warnings.end()) {
      warnings.push_back(note);
    }
  }
  root["warnings"] = std::move(warnings);
  // Where there is one tooth, all of the document is its.
  if (report.teeth.size() > 1) {
    root["headline"] = report.first().name;
    root["teeth"] = Json::array();
    for (const ToothReport& tooth : report.teeth) root["teeth"].push_back(json_of(tooth, report));
  }
  if (report.request) {
    add_plans(report.first(), root);
    root["cautions"] = cautions();
  }
  return detail::dump_results(std::move(root));
}

}  // namespace mamelon
