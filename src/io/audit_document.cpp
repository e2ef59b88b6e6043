// The audit of a tab set, as a JSON document.

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
  return detail::dump(root);
}

}  // namespace mamelon
