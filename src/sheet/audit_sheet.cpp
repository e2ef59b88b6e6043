// The technician's sheet for the audit of a tab set.

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "mamelon/sheet.h"

#include "base/find.h"
#include "base/listing.h"
#include "base/numbers.h"
#include "sheet/html.h"
#include "sheet/sheet_parts.h"

namespace mamelon {
namespace {

using detail::escaped;
using detail::format_fixed;
using detail::number_text;
using detail::percent;

std::string answer(const AuditReport& report) {
  const Coverage& coverage = report.audit->coverage;
  return "<section class=full><p class=answer>Coverage error ΔE<sub>00</sub> " +
         format_fixed(coverage.error_de00, 2) + " (95 % interval " + format_fixed(coverage.low, 2) +
         " – " + format_fixed(coverage.high, 2) + "): " + percent(coverage.share_acceptable) +
         " of teeth have an acceptable tab, " + percent(coverage.share_perceptible) +
         " one that cannot be told from them.</p><p>Against " + escaped(report.audit->population) +
         ", " + detail::counted(report.population->teeth.size(), "tooth", "teeth") + ". " +
         // What is to be known of generated teeth stands among the warnings.
         (report.population->generated ? "" : escaped(report.audit->population_note, 600)) +
         "</p></section>";
}

std::string map(const AuditReport& report) {
  std::vector<detail::PlotColour> colours;
  constexpr std::size_t most_teeth = 400;
  const auto& teeth = report.population->teeth;
  const std::size_t stride = std::max<std::size_t>(1, teeth.size() / most_teeth);
  for (std::size_t i = 0; i < teeth.size(); i += stride) {
    colours.push_back({teeth[i], detail::PlotMark::tooth, "", Mat3{}});
  }
  for (const Tab& tab : report.tabs->tabs) {
    colours.push_back({tab.lab.value, detail::PlotMark::tab, tab.name, tab.lab.covariance()});
  }
  for (const Gap& gap : report.audit->gaps) {
    colours.push_back({gap.centre, detail::PlotMark::gap, "", Mat3{}});
  }
  return "<section class=full><h2>Where the tabs lie</h2>" +
         detail::colour_plots(colours, report.tabs->viewing,
                              "Squares: tabs, with their 95 % regions (dashed). Dots: teeth. "
                              "Crosses: gaps, where many teeth have no "
                              "acceptable tab.") +
         "</section>";
}

std::string drift_section(const AuditReport& report) {
  if (report.drift == nullptr || report.drift->tabs.empty()) return {};
  return "<section class=full><h2>Change since the earlier set</h2>" +
         detail::drift_chart(*report.drift, report.tabs->viewing) + "<p>" +
         detail::escaped(report.drift->note, 400) + "</p></section>";
}

std::string tab_table(const AuditReport& report) {
  std::string out =
      "<section class=full><h2>Tabs</h2><table><thead><tr><th scope=col>Tab<th scope=col>Colour<th "
      "scope=col class=n>L*<th scope=col class=n>a*<th scope=col class=n>b*<th "
      "scope=col>Nearest other (ΔE<sub>00</sub>)";
  if (report.drift != nullptr) out += "<th scope=col class=wide>Since the earlier set";
  out += "</tr></thead><tbody>";
  for (std::size_t i = 0; i < report.tabs->tabs.size(); ++i) {
    const Tab& tab = report.tabs->tabs[i];
    const Vec3 sd = tab.lab.sd();
    const auto value = [&](double mean, double spread) {
      return "<td class=n>" + number_text(mean, 1) + " <span class=sd>± " + number_text(spread, 2) +
             "</span>";
    };
    out += "<tr><th scope=row>" + escaped(tab.name, 40) + "<td>" +
           detail::swatch_single(tab.lab.value, report.tabs->viewing, "colour of " + tab.name) +
           value(tab.lab.value.l, sd[0]) + value(tab.lab.value.a, sd[1]) +
           value(tab.lab.value.b, sd[2]);
    const Neighbour& near = report.audit->neighbours.at(i);
    out += "<td>" + (near.nearest.empty()
                         ? std::string()
                         : escaped(near.nearest, 40) + " (" + format_fixed(near.de00, 2) + ")");
    if (report.drift != nullptr) {
      const auto& drifts = report.drift->tabs;
      const auto found = detail::find_by(drifts, tab.name, &TabDrift::tab);
      out += "<td class=wide>" +
             (found == drifts.end()
                  ? std::string("new")
                  : in_words(found->verdict) + ", ΔE<sub>00</sub> " + format_fixed(found->de00, 2) +
                        " (" + detail::shift_text(found->difference) + ")");
    }
    out += "</tr>";
  }
  return out + "</tbody></table></section>";
}

std::vector<std::string> advice(const AuditReport& report) {
  const Audit& audit = *report.audit;
  std::vector<std::string> out;
  for (const RedundantPair& pair : audit.redundant) {
    out.push_back(pair.first + " and " + pair.second + " cannot be told apart (ΔE00 " +
                  format_fixed(pair.de00, 2) + ", chance " + percent(pair.chance) +
                  "): one of them is of no use");
  }
  constexpr std::size_t most_gaps = 6;
  double rest = 0;
  for (std::size_t i = 0; i < audit.gaps.size(); ++i) {
    const Gap& gap = audit.gaps[i];
    if (i >= most_gaps) {
      rest += gap.share;
      continue;
    }
    out.push_back("no tab serves teeth near L*, a*, b* " + detail::lab_text(gap.centre) + " (" +
                  percent(gap.share) + " of teeth; nearest " + gap.nearest + ", ΔE00 " +
                  format_fixed(gap.de00, 1) + ")");
  }
  if (rest > 0) {
    out.push_back(std::to_string(audit.gaps.size() - most_gaps) + " smaller gaps, together of " +
                  percent(rest) + " of teeth, are in the plot");
  }
  out.push_back("one more tab at L*, a*, b* " + detail::lab_text(audit.extra_tab.lab) +
                " would lower the coverage error to " +
                format_fixed(audit.extra_tab.error_de00, 2));
  if (report.choice != nullptr) {
    std::string names;
    for (const std::string& name : report.choice->tabs) names += (names.empty() ? "" : ", ") + name;
    out.push_back("the best " + std::to_string(report.choice->tabs.size()) + " tabs are " + names +
                  " (coverage error " + format_fixed(report.choice->error_de00, 2) +
                  (report.choice->exact
                       ? ", none better"
                       : ", no choice below " + format_fixed(report.choice->bound_de00, 2)) +
                  ")");
  }
  const auto seen = [](const Lab& shift) {
    return std::max({std::abs(shift.l), std::abs(shift.a), std::abs(shift.b)}) >= 0.05;
  };
  if (report.drift != nullptr && report.drift->common_shift_removed &&
      seen(report.drift->common_shift)) {
    out.push_back("all tabs together moved by L*, a*, b* " +
                  detail::lab_text(report.drift->common_shift) +
                  (report.drift->set_verdict == SetVerdict::unknown
                       ? ", which was taken off; whether the instrument changed or the whole set "
                         "did cannot be told without a witness, for instance a check tile"
                       : ", which was taken off; by the witness the instrument moved by " +
                             detail::lab_text(report.drift->witness_shift)));
  }
  return out;
}

}  // namespace

std::string sheet_html(const AuditReport& report) {
  std::string out = detail::sheet_begin(
      report.label.empty() ? "Audit of " + report.tabs->name : report.label,
      "What a tab set can and cannot match, viewing " + to_string(report.tabs->viewing));
  out += "<div class=grid>" + answer(report);
  std::vector<std::string> warnings = report.audit->warnings;
  if (report.drift != nullptr) {
    warnings.insert(warnings.end(), report.drift->warnings.begin(), report.drift->warnings.end());
  }
  if (!warnings.empty()) {
    out +=
        "<section class=\"full warn\"><h2>Warnings</h2>" + detail::bullets(warnings) + "</section>";
  }
  out += map(report) + "<section class=full><h2>What to do</h2>" + detail::bullets(advice(report)) +
         "</section>" + drift_section(report) + tab_table(report);
  out += "<section class=full><h2>Cautions</h2>" +
         detail::bullets({"Tabs age, stain and are cleaned: read them again at the intervals that "
                          "their maker and your quality plan ask for.",
                          "Shares of teeth hold for the population named above; your patients may "
                          "differ.",
                          "Not a diagnosis. The licensed dentist decides, under local rules."}) +
         "</section></div>";
  return out + detail::sheet_end(report.audit->provenance.digest);
}

}  // namespace mamelon
