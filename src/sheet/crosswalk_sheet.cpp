// The table from tab to paste as a sheet.

#include <string>
#include <vector>

#include "mamelon/sheet.h"

#include "base/numbers.h"
#include "sheet/html.h"
#include "sheet/sheet_parts.h"

namespace mamelon {
namespace {

using detail::escaped;
using detail::format_fixed;

std::string recipe_rows(const CrosswalkReport& report) {
  std::string out;
  for (std::size_t r = 0; r < report.rows.size(); ++r) {
    const CrosswalkRow& row = report.rows[r];
    for (std::size_t i = 0; i < row.plans.size(); ++i) {
      const Plan& plan = row.plans[i];
      std::string layers;
      for (const PlannedLayer& layer : plan.layers) {
        layers += (layers.empty() ? "" : " + ") + escaped(layer.paste, 40) + " " +
                  format_fixed(layer.thickness_mm, 1) + " mm";
      }
      const bool first = i == 0;
      out += "<tr><th scope=row>" + (first ? escaped(row.tab, 40) : std::string()) + "<td>" +
             (first ? detail::swatch_single(report.tabs.tabs.at(r).lab.value, report.tabs.viewing,
                                            "colour of " + row.tab)
                    : std::string()) +
             "<td>" + (i == row.recommended ? "take" : "") + "<td class=wide>" + layers +
             "<td class=n>" + format_fixed(plan.de00, 2) + "<td class=n>" +
             format_fixed(plan.de00_rms, 2) + "<td>" + std::string(in_words(grade(plan.de00))) +
             "</tr>";
    }
  }
  return out;
}

}  // namespace

std::string sheet_html(const CrosswalkReport& report) {
  std::string out = detail::sheet_begin("From " + report.tabs.name + " to pastes",
                                        "Recipes from the floor outward for " +
                                            format_fixed(report.request.depth_mm, 1) +
                                            " mm, viewing " + to_string(report.tabs.viewing));
  out += "<div class=grid>";
  if (!report.warnings.empty()) {
    out += "<section class=\"full warn\"><h2>Warnings</h2>" + detail::bullets(report.warnings) +
           "</section>";
  }
  out +=
      "<section class=full><h2>Recipes</h2><table><thead><tr><th scope=col>Tab<th "
      "scope=col>Colour<th scope=col><th scope=col class=wide>Pastes, from the floor outward<th "
      "scope=col class=n>ΔE<sub>00</sub><th scope=col class=n>Expected<th scope=col>Grade"
      "</tr></thead><tbody>" +
      recipe_rows(report) + "</tbody></table></section><section class=full><h2>Cautions</h2>" +
      detail::bullets(cautions()) + "</section></div>";
  return out + detail::sheet_end(report.tabs.provenance.digest);
}

}  // namespace mamelon
