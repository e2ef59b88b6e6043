// The table from tab to paste, as JSON and as CSV.

#include <string>

#include "mamelon/exchange.h"
#include "mamelon/limits.h"

#include "base/numbers.h"
#include "io/plan_json.h"

namespace mamelon {
namespace {

using detail::Json;

// A name with an apostrophe before what a spreadsheet takes for a formula, behind any number of
// such apostrophes, so that it can be told what the name was.
std::string guarded(const std::string& name) {
  const std::size_t first = name.find_first_not_of('\'');
  const bool formula = first != std::string::npos &&
                       std::string_view("=+-@\t\r").find(name[first]) != std::string_view::npos;
  return formula ? "'" + name : name;
}

std::string quoted(const std::string& text) {
  std::string out = "\"";
  for (const char c : text) {
    out += c == '"' ? "\"\"" : std::string(1, c);
  }
  return out + '"';
}

}  // namespace

std::string to_json(const CrosswalkReport& report) {
  std::vector<std::string> inputs{report.tabs.provenance.digest};
  Json rows = Json::array();
  for (const CrosswalkRow& row : report.rows) {
    Json recipes = Json::array();
    for (const Plan& plan : row.plans) recipes.push_back(detail::json_of(plan));
    rows.push_back(Json{{"tab", row.tab},
                        {"recipes", std::move(recipes)},
                        {"recommended", row.recommended},
                        {"why", row.why},
                        {"warnings", row.warnings}});
    inputs.push_back(row.provenance.digest);
  }
  const Viewing& viewing = report.tabs.viewing;
  return detail::dump_results(
      Json{{"mamelon",
            {{"version", library_version()},
             {"provenance", make_provenance("crosswalk", "", std::move(inputs)).digest}}},
           {"viewing",
            {{"illuminant", viewing.illuminant.name()},
             {"observer", viewing.observer == Observer::deg2 ? "2" : "10"}}},
           {"tab_set", report.tabs.name},
           {"paste_set", report.request.pastes.name},
           {"depth_mm", report.request.depth_mm},
           {"rows", std::move(rows)},
           {"warnings", report.warnings}});
}

namespace {

std::string csv_of(const CrosswalkReport& report, bool guard) {
  const auto cell = [guard](const std::string& name) {
    return quoted(guard ? guarded(name) : name);
  };
  std::string out =
      "tab,layers,recommended,paste_1,mm_1,paste_2,mm_2,paste_3,mm_3,de00,de00_expected,"
      "de00_p95\n";
  const auto number = [](double value, int decimals) {
    return detail::format_fixed(value, decimals);
  };
  for (const CrosswalkRow& row : report.rows) {
    for (std::size_t i = 0; i < row.plans.size(); ++i) {
      const Plan& plan = row.plans[i];
      out += cell(row.tab) + "," + std::to_string(plan.layers.size()) + "," +
             (i == row.recommended ? "yes" : "no");
      for (std::size_t j = 0; j < limits::plan_layers; ++j) {
        out += j < plan.layers.size()
                   ? "," + cell(plan.layers[j].paste) + "," + number(plan.layers[j].thickness_mm, 1)
                   : ",,";
      }
      out += "," + number(plan.de00, 3) + "," + number(plan.de00_rms, 3) + "," +
             number(plan.de00_p95, 3) + "\n";
    }
  }
  return out;
}

}  // namespace

std::string to_csv(const CrosswalkReport& report) {
  return csv_of(report, false);
}

std::string to_spreadsheet(const CrosswalkReport& report) {
  return csv_of(report, true);
}

}  // namespace mamelon
