// The audit of a tab set, as a JSON document.

#include <string>
#include <utility>

#include "mamelon/files.h"

#include "io/json_write.h"

namespace mamelon {
namespace {

using detail::Json;

Json json_of(const Drift& drift) {
  Json tabs = Json::array();
  for (const TabDrift& tab : drift.tabs) {
    tabs.push_back(Json{{"tab", tab.tab},
                        {"de00", tab.de00},
                        {"difference", detail::json_of(tab.difference)},
                        {"p_value", tab.p_value},
                        {"verdict", to_string(tab.verdict)}});
  }
  return Json{{"tabs", std::move(tabs)},
              {"common_shift", detail::json_of(drift.common_shift)},
              {"common_shift_de00", drift.common_shift_de00},
              {"common_shift_p_value", drift.common_shift_p_value},
              {"common_shift_removed", drift.common_shift_removed},
              {"witness_shift", detail::json_of(drift.witness_shift)},
              {"set_shift", detail::json_of(drift.set_shift)},
              {"set_shift_de00", drift.set_shift_de00},
              {"set_shift_p_value", drift.set_shift_p_value},
              {"set_verdict", to_string(drift.set_verdict)},
              {"note", drift.note},
              {"only_earlier", drift.only_earlier},
              {"only_now", drift.only_now},
              {"warnings", drift.warnings}};
}

}  // namespace

std::string to_json(const AuditReport& report) {
  const Audit& audit = *report.audit;
  Json neighbours = Json::array();
  for (const Neighbour& n : audit.neighbours) {
    neighbours.push_back(Json{{"tab", n.tab}, {"nearest", n.nearest}, {"de00", n.de00}});
  }
  Json redundant = Json::array();
  for (const RedundantPair& pair : audit.redundant) {
    redundant.push_back(Json{{"first", pair.first},
                             {"second", pair.second},
                             {"de00", pair.de00},
                             {"chance", pair.chance}});
  }
  Json gaps = Json::array();
  for (const Gap& gap : audit.gaps) {
    gaps.push_back(Json{{"centre", detail::json_of(gap.centre)},
                        {"share", gap.share},
                        {"nearest", gap.nearest},
                        {"de00", gap.de00}});
  }
  const Coverage& coverage = audit.coverage;
  Json root{
      {"mamelon", {{"version", library_version()}, {"provenance", audit.provenance.digest}}},
      {"tabs", report.tabs->name},
      {"viewing", to_string(report.tabs->viewing)},
      {"population",
       {{"name", audit.population},
        {"note", audit.population_note},
        {"generated", report.population->generated},
        {"teeth", report.population->teeth.size()}}},
      {"coverage",
       {{"error_de00", coverage.error_de00},
        {"noise_de00", coverage.noise_de00},
        {"low", coverage.low},
        {"high", coverage.high},
        {"share_perceptible", coverage.share_perceptible},
        {"share_acceptable", coverage.share_acceptable},
        {"worst_de00", coverage.worst_de00}}},
      {"neighbours", std::move(neighbours)},
      {"redundant", std::move(redundant)},
      {"gaps", std::move(gaps)},
      {"extra_tab",
       {{"lab", detail::json_of(audit.extra_tab.lab)}, {"error_de00", audit.extra_tab.error_de00}}},
      {"by_lightness", audit.by_lightness},
      {"by_chroma", audit.by_chroma}};
  if (report.choice != nullptr) {
    root["choice"] = Json{{"tabs", report.choice->tabs},
                          {"error_de00", report.choice->error_de00},
                          {"bound_de00", report.choice->bound_de00},
                          {"exact", report.choice->exact}};
  }
  if (report.drift != nullptr) root["drift"] = json_of(*report.drift);
  root["warnings"] = audit.warnings;
  return detail::dump(root);
}

}  // namespace mamelon
