// The sheet's first page: what is read at the chair.

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>
#include <vector>

#include "base/numbers.h"
#include "sheet/html.h"
#include "sheet/sheet_parts.h"

namespace mamelon::detail {
namespace {

// Names are as long as the person made them: they wrap and are not cut.
constexpr std::size_t whole_name = 200;

std::string_view portion_words(Portion portion) {
  switch (portion) {
    case Portion::first_wedge:
      return "first wedge, against one wall";
    case Portion::second_wedge:
      return "second wedge, against the opposite wall";
    case Portion::walls:
      return "along the walls";
    case Portion::core:
      return "core";
    case Portion::contact_wall:
      return "contact wall";
    case Portion::level:
      break;
  }
  return "";
}

std::string place_of(const Increment& step, const Plan& plan) {
  std::string text(portion_words(step.portion));
  if (step.portion == Portion::contact_wall && plan.contact_wall) {
    text += ", " + format_fixed(plan.contact_wall->width_mm, 1) + " mm wide";
  }
  if (step.contour) text += std::string(text.empty() ? "" : "; ") + "finish to contour first";
  return text;
}

std::string cure_of(const Increment& step) {
  const std::string dose = format_fixed(step.exposure_j_cm2, 0) + " J/cm²";
  return step.exposure_s ? "<strong>" + format_fixed(std::ceil(*step.exposure_s), 0) +
                               " s</strong> (" + dose + ")"
                         : dose;
}

std::string steps_table(const Plan& plan) {
  std::string out =
      "<table class=steps><thead><tr><th scope=col>Step<th scope=col>Paste<th scope=col "
      "class=n>Thickness<th scope=col class=n>Cure<th scope=col>Done</tr></thead><tbody>";
  for (const Increment& step : plan.increments) {
    const std::string place = place_of(step, plan);
    out += "<tr><th scope=row>" + std::to_string(step.order) + "<td>" +
           escaped(step.paste, whole_name) +
           (place.empty() ? "" : "<br><span class=quiet>" + escaped(place) + "</span>") +
           "<td class=n>" + format_fixed(step.thickness_mm, 1) + " mm<td class=n>" + cure_of(step) +
           "<td><span class=box></span></tr>";
  }
  return out + "</tbody></table>";
}

std::string layers_of(const Plan& plan) {
  std::string out;
  for (const PlannedLayer& layer : plan.layers) {
    out += (out.empty() ? "" : ", then ") + escaped(layer.paste, whole_name) + " " +
           format_fixed(layer.thickness_mm, 1) + " mm";
  }
  return out;
}

// The recommended plan and those as good.
std::string plans_table(const PlanSet& set, const Viewing& viewing) {
  const Plan& best = set.plans[set.recommended];
  std::string rows;
  const auto add = [&](const Plan& plan, bool chosen) {
    rows += std::string(chosen ? "<tr class=first>" : "<tr>") + "<td>" +
            swatch_pair(plan.predicted.front().target, plan.predicted.front().lab, viewing,
                        "tooth beside predicted colour") +
            "<td>" + layers_of(plan) + "<td class=n>" + format_fixed(plan.de00_rms, 1) +
            "<td class=n>" + format_fixed(plan.de00_p95, 1) + "</tr>";
  };
  add(best, true);
  constexpr std::size_t most = 4;
  std::size_t shown = 0;
  for (std::size_t i = 0; i < set.plans.size() && shown < most; ++i) {
    if (i == set.recommended || !is_as_good(set.plans[i], best)) continue;
    add(set.plans[i], false);
    ++shown;
  }
  return "<table><thead><tr><th scope=col>tooth | plan<th scope=col>Pastes from the floor "
         "outward<th scope=col class=n>ΔE<sub>00</sub> expected<th scope=col class=n>19 of 20 "
         "below</tr></thead><tbody>" +
         rows + "</tbody></table>" +
         (shown == 0 ? "<p class=quiet>No other plan is expected to be as good.</p>"
                     : "<p class=quiet>The others are expected to come as near, or nearer.</p>");
}

std::string lot_of(const ChairNotes& notes, const std::string& paste) {
  for (const PasteLot& one : notes.lots) {
    if (one.paste == paste) return one.lot;
  }
  return {};
}

// What the case does not say is left to be written by hand.
std::string to_fill_in(const Report& report, const Plan& plan) {
  const ChairNotes& notes = report.chair;
  const ToothReport& tooth = report.first();
  std::vector<std::pair<std::string, std::string>> fields;
  // The page's title says what the case is called.
  if (report.label.empty()) fields.emplace_back("Case", "");
  fields.emplace_back("Date", notes.date);
  fields.emplace_back("Tooth", tooth.number ? std::to_string(*tooth.number) : "");
  fields.emplace_back("Operator", notes.operator_code);
  std::vector<std::string> pastes;
  for (const PlannedLayer& layer : plan.layers) {
    if (std::find(pastes.begin(), pastes.end(), layer.paste) != pastes.end()) continue;
    pastes.push_back(layer.paste);
    fields.emplace_back("Lot of " + layer.paste, lot_of(notes, layer.paste));
  }
  std::string out = "<section class=\"full fill\">";
  for (const auto& [name, value] : fields) {
    out +=
        "<span>" + escaped(name, whole_name) + " <b>" + escaped(value, whole_name) + "</b></span>";
  }
  return out + "</section>";
}

}  // namespace

std::string chair_card(const Report& report, const Plan& plan) {
  const ToothReport& tooth = report.first();
  const bool invented = is_invented(report);
  const std::string& vital = report.warnings.empty() ? cautions()[1] : report.warnings.front();
  const std::string depth = format_fixed(report.request->depth_mm, 1) + " mm deep";
  std::string out =
      "<section class=\"full warn\"><p><strong>" + escaped(vital, 600) + "</strong></p></section>";
  if (!invented) out += to_fill_in(report, plan);
  out += "<section><h2>" + std::string(invented ? "Example" : "Cavity") + ", " + depth + "</h2>" +
         layer_section(plan, report.request->depth_mm) + "</section><section><h2>" +
         (invented ? "Steps of the example" : "Steps, in this order") + "</h2>" +
         steps_table(plan) + "</section>";
  out += "<section class=full><h2>" +
         std::string(invented ? "The example and others as good" : "The plan and others as good") +
         "</h2>" + plans_table(*tooth.plans, report.viewing) + "</section>";
  return out;
}

}  // namespace mamelon::detail
