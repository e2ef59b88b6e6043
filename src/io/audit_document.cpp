// What was found of a tab set, as JSON documents.

#include <string>

#include "mamelon/files.h"

#include "io/json_value.h"

namespace mamelon {

std::string to_json(const AuditReport& report) {
  using detail::Json;
  using detail::written;
  const Audit& audit = *report.audit;
  Json root{{"mamelon", {{"version", library_version()}, {"provenance", audit.provenance.digest}}},
            {"tabs", report.tabs->name},
            {"viewing", to_string(report.tabs->viewing)},
            {"population",
             {{"name", audit.population},
              {"note", audit.population_note},
              {"generated", report.population->generated},
              {"teeth", report.population->teeth.size()}}},
            {"coverage", written(audit.coverage)},
            {"neighbours", written(audit.neighbours)},
            {"redundant", written(audit.redundant)},
            {"gaps", written(audit.gaps)},
            {"extra_tab", written(audit.extra_tab)},
            {"by_lightness", audit.by_lightness},
            {"by_chroma", audit.by_chroma}};
  if (report.choice != nullptr) root["choice"] = written(*report.choice);
  if (report.drift != nullptr) root["drift"] = written(*report.drift);
  root["warnings"] = audit.warnings;
  return detail::dump_results(std::move(root));
}

namespace {

// A described value with the head of every result.
template <class T>
std::string document_of(const char* name, const T& value, const Provenance& provenance) {
  using detail::Json;
  return detail::dump_results(
      Json{{"mamelon", {{"version", library_version()}, {"provenance", provenance.digest}}},
           {name, detail::written(value)}});
}

}  // namespace

std::string to_json(const Audit& audit) {
  return document_of("audit", audit, audit.provenance);
}

std::string to_json(const Calibration& calibration) {
  return document_of("calibration", calibration, calibration.tabs.provenance);
}

std::string to_json(const Match& match) {
  detail::Json root{
      {"mamelon", {{"version", library_version()}, {"provenance", match.provenance.digest}}},
      {"match", detail::written(match)}};
  detail::Json& ranked = root["match"]["ranked"];
  // What a case's report leaves out stands here too.
  for (std::size_t i = 0; i < match.ranked.size(); ++i) {
    const RankedTab& tab = match.ranked[i];
    ranked[i]["chance_perceptible"] = tab.chance_perceptible;
    ranked[i]["chance_acceptable"] = tab.chance_acceptable;
    ranked[i]["surely_perceptible_match"] = tab.surely_perceptible_match;
    ranked[i]["surely_acceptable_match"] = tab.surely_acceptable_match;
    ranked[i]["lab"] = detail::json_of(tab.lab);
  }
  return detail::dump_results(std::move(root));
}

}  // namespace mamelon
