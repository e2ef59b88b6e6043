// The technician's sheet of a calibration: what was read, what was set aside, how sure it is.

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
using detail::number_text;
using detail::percent;

std::string tab_table(const Calibration& calibration) {
  const TabSet& tabs = calibration.tabs;
  std::string out =
      "<section class=full><h2>Tabs</h2><p>Mean ± standard deviation of L*, a*, b*; used: readings "
      "that went into the mean, of those given; MCDM: mean ΔE<sub>00</sub> from the mean "
      "(ASTM E2214).</p><table><thead><tr><th scope=col>Tab<th scope=col>Colour<th scope=col "
      "class=n>L*<th scope=col class=n>a*<th scope=col class=n>b*<th scope=col class=n>Used<th "
      "scope=col class=n>MCDM</tr></thead><tbody>";
  for (std::size_t i = 0; i < tabs.tabs.size(); ++i) {
    const Tab& tab = tabs.tabs[i];
    const TabRecord& record = calibration.records.at(i);
    const Vec3 sd = tab.lab.sd();
    const auto value = [](double mean, double spread) {
      return "<td class=n>" + number_text(mean, 1) + " <span class=sd>± " + number_text(spread, 2) +
             "</span>";
    };
    out += "<tr><th scope=row>" + escaped(tab.name, 40) + "<td>" +
           detail::swatch_single(tab.lab.value, tabs.viewing, "colour of " + tab.name) +
           value(tab.lab.value.l, sd[0]) + value(tab.lab.value.a, sd[1]) +
           value(tab.lab.value.b, sd[2]) + "<td class=n>" + std::to_string(record.used) + " of " +
           std::to_string(record.count) + "<td class=n>" +
           (record.no_repeatability ? std::string("–") : format_fixed(record.mcdm_de00, 2)) +
           "</tr>";
  }
  return out + "</tbody></table></section>";
}

std::string aside_table(const Calibration& calibration) {
  if (calibration.set_aside.empty()) return {};
  std::string out =
      "<section class=full><h2>Readings set aside</h2><p>A reading counts by what is left of the "
      "chance that it is a gross error; its tab's interval covers either case.</p><table><thead>"
      "<tr><th scope=col class=n>Line<th scope=col>Tab<th scope=col class=n>ΔE<sub>00</sub><th "
      "scope=col class=n>Chance of a gross error<th scope=col class=wide>Why</tr></thead><tbody>";
  for (const SetAside& aside : calibration.set_aside) {
    out += "<tr><td class=n>" + std::to_string(aside.row) + "<th scope=row>" +
           escaped(aside.tab, 40) + "<td class=n>" + format_fixed(aside.de00, 2) + "<td class=n>" +
           percent(aside.chance_gross) + "<td class=wide>" + escaped(aside.reason, 300) + "</tr>";
  }
  return out + "</tbody></table></section>";
}

std::string part_table(const Calibration& calibration) {
  if (calibration.parts.empty()) return {};
  std::string out =
      "<section class=full><h2>Where a reading's spread comes from</h2><table><thead><tr><th "
      "scope=col>Part<th scope=col class=n>Levels<th scope=col class=n>Standard deviation, "
      "ΔE<sub>00</sub><th scope=col class=wide></tr></thead><tbody>";
  for (const VariancePart& part : calibration.parts) {
    out += "<tr><th scope=row>" + escaped(part.source, 40) + "<td class=n>" +
           std::to_string(part.levels) + "<td class=n>" + format_fixed(part.sd_de00, 2) +
           "<td class=wide>" + escaped(part.note, 200) + "</tr>";
  }
  return out + "</tbody></table></section>";
}

}  // namespace

std::string sheet_html(const Calibration& calibration) {
  const TabSet& tabs = calibration.tabs;
  std::string out =
      detail::sheet_begin("Calibration of " + tabs.name,
                          "A tab set from repeat readings, viewing " + to_string(tabs.viewing));
  out += "<div class=grid>";
  if (!calibration.warnings.empty()) {
    out += "<section class=\"full warn\"><h2>Warnings</h2>" +
           detail::bullets(calibration.warnings) + "</section>";
  }
  std::vector<detail::PlotColour> colours;
  for (const Tab& tab : tabs.tabs) {
    colours.push_back({tab.lab.value, detail::PlotMark::tab, tab.name, tab.lab.covariance()});
  }
  out += tab_table(calibration) + aside_table(calibration) + part_table(calibration) +
         "<section class=full><h2>Where the tabs lie</h2>" +
         detail::colour_plots(colours, tabs.viewing, "Tabs with their 95 % regions (dashed).") +
         "</section><section class=full><h2>Cautions</h2>" +
         detail::bullets({"Tabs age, stain and are cleaned: read them again at the intervals that "
                          "their maker and your quality plan ask for.",
                          "Clean and disinfect tabs as their maker says before they are read.",
                          "Not a diagnosis. The licensed dentist decides, under local rules."}) +
         "</section></div>";
  return out + detail::sheet_end(tabs.provenance.digest);
}

}  // namespace mamelon
