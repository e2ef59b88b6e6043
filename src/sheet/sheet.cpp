#include "mamelon/sheet.h"

#include <algorithm>
#include <string>
#include <vector>

#include "base/numbers.h"
#include "io/report_digest.h"
#include "sheet/html.h"
#include "sheet/sheet_parts.h"

namespace mamelon {

namespace {

using detail::escaped;
using detail::format_fixed;
using detail::number_text;

std::string name_of(const Reading& reading) {
  return reading.zone.empty() ? reading.label : reading.zone;
}

// With a capital, as a heading begins.
std::string heading(std::string text) {
  if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') {
    text[0] = static_cast<char>(text[0] - 'a' + 'A');
  }
  return text;
}

std::size_t focus_of(const Report& report) {
  for (std::size_t i = 0; i < report.readings.size(); ++i) {
    if (!report.planned_zone.empty() && name_of(report.readings[i]) == report.planned_zone) {
      return i;
    }
  }
  for (std::size_t i = 0; i < report.readings.size(); ++i) {
    if (report.readings[i].zone == "middle") return i;
  }
  return 0;
}

const Tab* tab_named(const Report& report, const std::string& name) {
  if (report.tabs == nullptr) return nullptr;
  for (const Tab& tab : report.tabs->tabs) {
    if (tab.name == name) return &tab;
  }
  return nullptr;
}

const Plan* best_plan(const Report& report) {
  if (report.plans == nullptr || report.plans->plans.empty()) return nullptr;
  return &report.plans->plans.at(report.plans->recommended);
}

std::string confidence(const Match& match) {
  const RankedTab& first = match.ranked.front();
  std::string text = "Confidence that this is the nearest tab: <strong>" +
                     std::string(detail::confidence_word(first.chance_best)) + "</strong> (" +
                     detail::percent(first.chance_best) + ").";
  if (match.indistinguishable.size() > 1) {
    std::string names;
    for (const std::string& name : match.indistinguishable) {
      if (name == first.tab) continue;
      names += (names.empty() ? "" : ", ") + escaped(name, 40);
    }
    if (!names.empty()) text += " It could as well be " + names + ".";
  }
  if (match.between) text += " The colour lies " + escaped(between_in_words(*match.between)) + ".";
  text += " Confidence that the difference is acceptable: <strong>" +
          std::string(detail::confidence_word(first.chance_acceptable)) + "</strong> (" +
          detail::percent(first.chance_acceptable) + ").";
  return text;
}

std::string answer(const Report& report, std::size_t focus) {
  std::string out = "<section class=full aria-label=\"Answer\">";
  if (focus < report.matches.size() && !report.matches[focus].ranked.empty()) {
    const RankedTab& first = report.matches[focus].ranked.front();
    const std::string words = difference_in_words(first);
    out += "<p class=answer>" + escaped(heading(name_of(report.readings[focus]))) +
           ": nearest tab " + escaped(first.tab) + ", ΔE<sub>00</sub> " +
           format_fixed(first.de00, 1) + ", " + in_words(first.grade) +
           (words.starts_with("no ") ? ", " : "; the tooth is ") + escaped(words) + "</p>";
  }
  if (const Plan* plan = best_plan(report)) {
    std::string layers;
    for (const PlannedLayer& layer : plan->layers) {
      layers += (layers.empty() ? "" : ", then ") + escaped(layer.paste) + " " +
                format_fixed(layer.thickness_mm, 1) + " mm";
    }
    out += "<p class=answer>Plan from the floor outward: " + layers + " (ΔE<sub>00</sub> " +
           format_fixed(plan->de00, 1) + " as planned, " + format_fixed(plan->de00_expected, 1) +
           " to be expected)</p>";
  }
  return out + "</section>";
}

std::string readings_table(const Report& report) {
  std::string out = "<table><caption>CIELAB under " + escaped(to_string(report.viewing)) +
                    ", mean ± standard deviation</caption><thead><tr><th scope=col>Zone<th "
                    "scope=col>Colour<th scope=col class=n>L*<th scope=col class=n>a*<th scope=col "
                    "class=n>b*<th scope=col>Nearest tab</tr></thead><tbody>";
  constexpr std::size_t most = 40;
  for (std::size_t i = 0; i < std::min(report.readings.size(), most); ++i) {
    const Reading& reading = report.readings[i];
    const Vec3 sd = reading.lab.sd();
    const auto value = [&](double mean, double spread) {
      return "<td class=n>" + number_text(mean, 1) + " <span class=sd>± " + number_text(spread, 1) +
             "</span>";
    };
    out += "<tr><th scope=row>" + escaped(name_of(reading), 40) + "<td>" +
           detail::swatch_single(reading.lab.value, report.viewing,
                                 "measured colour of " + name_of(reading)) +
           value(reading.lab.value.l, sd[0]) + value(reading.lab.value.a, sd[1]) +
           value(reading.lab.value.b, sd[2]) + "<td>";
    if (i < report.matches.size() && !report.matches[i].ranked.empty()) {
      const RankedTab& first = report.matches[i].ranked.front();
      out += escaped(first.tab, 40) + " (ΔE<sub>00</sub> " + format_fixed(first.de00, 1) + ")";
    }
    out += "</tr>";
  }
  out += "</tbody></table>";
  if (report.readings.size() > most) {
    out += "<p class=quiet>" + std::to_string(report.readings.size() - most) +
           " more readings are not shown.</p>";
  }
  return out;
}

std::string ranked_table(const Report& report, std::size_t focus) {
  if (focus >= report.matches.size()) return {};
  const Match& match = report.matches[focus];
  std::string out =
      "<section class=full><h2>Ranked tabs: " + escaped(name_of(report.readings[focus])) +
      "</h2><table><thead><tr><th scope=col>Tab<th scope=col>tooth | tab<th scope=col "
      "class=n>ΔE<sub>00</sub><th scope=col class=\"n wide\">95 % interval<th scope=col "
      "class=n>best<th scope=col class=wide>Grade<th scope=col>The tooth is</tr></thead><tbody>";
  bool clipped = false;
  for (std::size_t k = 0; k < std::min<std::size_t>(5, match.ranked.size()); ++k) {
    const RankedTab& ranked = match.ranked[k];
    const Tab* tab = tab_named(report, ranked.tab);
    out += std::string(k == 0 ? "<tr class=first>" : "<tr>") + "<th scope=row>" +
           escaped(ranked.tab, 40) + "<td>";
    if (tab != nullptr) {
      const Lab& tooth = report.readings[focus].lab.value;
      clipped = clipped || detail::swatch_of(tab->lab.value, report.viewing).clipped ||
                detail::swatch_of(tooth, report.viewing).clipped;
      out += detail::swatch_pair(tooth, tab->lab.value, report.viewing,
                                 "tooth beside tab " + ranked.tab);
    }
    out += "<td class=n>" + format_fixed(ranked.de00, 2) + "<td class=\"n wide\">" +
           format_fixed(ranked.low, 2) + " – " + format_fixed(ranked.high, 2) + "<td class=n>" +
           detail::percent(ranked.chance_best) + "<td class=wide>" + in_words(ranked.grade) +
           "<td>" + escaped(difference_in_words(ranked)) + "</tr>";
  }
  out += "</tbody></table><p>" + confidence(match) + "</p>";
  if (clipped) {
    out += "<p class=quiet>A swatch is outside what an sRGB display can show.</p>";
  }
  return out + "</section>";
}

std::string predicted_table(const Plan& plan) {
  std::string out =
      "<table><thead><tr><th scope=col>Light<th scope=col>tooth | plan<th scope=col "
      "class=\"n wide\">Tooth L*, a*, b*<th scope=col class=n>Plan L*, a*, b*<th scope=col "
      "class=n>ΔE<sub>00</sub></tr></thead><tbody>";
  for (const PredictedColour& colour : plan.predicted) {
    const std::string light = to_string(colour.viewing);
    out += "<tr><th scope=row>" + escaped(light) + "<td>" +
           detail::swatch_pair(colour.target, colour.lab, colour.viewing,
                               "tooth beside predicted colour under " + light) +
           "<td class=\"n wide\">" + detail::lab_text(colour.target) + "<td class=n>" +
           detail::lab_text(colour.lab) + "<td class=n>" + format_fixed(colour.de00, 2) + "</tr>";
  }
  return out + "</tbody></table>";
}

std::string alternatives_table(const PlanSet& set) {
  std::string rows;
  std::size_t shown = 0;
  for (std::size_t i = 0; i < set.plans.size() && shown < 4; ++i) {
    if (i == set.recommended) continue;
    ++shown;
    std::string layers;
    for (const PlannedLayer& layer : set.plans[i].layers) {
      layers += (layers.empty() ? "" : ", ") + escaped(layer.paste, 40) + " " +
                format_fixed(layer.thickness_mm, 2) + " mm";
    }
    rows += "<tr><td>" + layers + "<td class=n>" + format_fixed(set.plans[i].de00, 2) +
            "<td class=n>" + format_fixed(set.plans[i].de00_expected, 2) + "</tr>";
  }
  if (rows.empty()) return {};
  return "<h3>Other plans</h3><table><thead><tr><th scope=col>Pastes from the floor outward<th "
         "scope=col class=n>ΔE<sub>00</sub><th scope=col class=n>expected</tr></thead><tbody>" +
         rows + "</tbody></table>";
}

std::string plan_part(const Report& report) {
  const Plan* plan = best_plan(report);
  if (plan == nullptr) return {};
  std::string out = "<section><h2>Layers, " + format_fixed(report.request->depth_mm, 1) +
                    " mm deep</h2>" + detail::layer_section(*plan, report.request->depth_mm) +
                    "</section><section><h2>Predicted colour</h2>" + predicted_table(*plan) +
                    "<p>ΔE<sub>00</sub> <strong>" + format_fixed(plan->de00, 2) +
                    "</strong> as planned, <strong>" + format_fixed(plan->de00_expected, 2) +
                    "</strong> to be expected, at most <strong>" + format_fixed(plan->de00_p95, 2) +
                    "</strong> in 19 of 20 cases.</p><p>" + escaped(report.plans->why, 600) +
                    "</p>" + alternatives_table(*report.plans) + "</section>";
  return out;
}

std::string card_quality(const CardFit& fit) {
  const auto used = std::count_if(fit.patches.begin(), fit.patches.end(),
                                  [](const PatchFit& patch) { return patch.used; });
  return "Card: " + std::to_string(used) + " of " + std::to_string(fit.patches.size()) +
         " patches used. A patch left out of the fit is predicted within ΔE00 " +
         format_fixed(fit.loo_de00_median, 2) + " (median), " + format_fixed(fit.loo_de00_max, 2) +
         " (largest).";
}

std::string encoding_in_words(Encoding encoding) {
  switch (encoding) {
    case Encoding::linear:
      return "The photo holds linear light.";
    case Encoding::profile:
      return "The photo's tones were undone by its own colour profile.";
    case Encoding::srgb_assumed:
      return "The photo has no colour profile: sRGB was assumed.";
    case Encoding::camera_rendering:
      return "The photo has a camera's own tones: they were learnt from the card's greys.";
  }
  return {};
}

std::vector<std::string> assumptions(const Report& report) {
  std::vector<std::string> out;
  out.push_back(
      "Colours are for " + to_string(report.viewing) +
      " (illuminant / observer in degrees). A difference of ΔE00 " +
      format_fixed(threshold::perceptible_de00, 1) + " is just visible to half of observers and " +
      format_fixed(threshold::acceptable_de00, 1) + " acceptable to half (Paravina et al. 2015).");
  if (report.fit != nullptr) out.push_back(card_quality(*report.fit));
  if (report.photo != nullptr) {
    out.push_back(encoding_in_words(report.photo->encoding));
  }
  if (report.request != nullptr) {
    out.push_back("Thickness held to ± " + format_fixed(report.request->thickness_sd_mm, 2) +
                  " mm (standard deviation); layers add up to the depth; the floor and every "
                  "layer are in optical contact.");
    out.push_back(report.request->placing.lamp_irradiance_mw_cm2
                      ? "Curing light of " +
                            format_fixed(*report.request->placing.lamp_irradiance_mw_cm2, 0) +
                            " mW/cm² at the paste, as you stated."
                      : "The curing light's irradiance was not given, so no times are.");
  }
  std::string sets;
  if (report.tabs != nullptr) sets += "Tabs: " + report.tabs->name + ".";
  if (report.pastes != nullptr) sets += " Pastes: " + report.pastes->name + ".";
  if (!sets.empty()) out.push_back(sets);
  return out;
}

std::vector<std::string> all_warnings(const Report& report) {
  std::vector<std::string> out;
  const auto add = [&](const std::vector<std::string>& more, const std::string& prefix) {
    for (const std::string& text : more) {
      const std::string full = prefix + text;
      if (std::find(out.begin(), out.end(), full) == out.end()) out.push_back(full);
    }
  };
  add(report.warnings, "");
  for (const Reading& reading : report.readings) add(reading.warnings, name_of(reading) + ": ");
  for (const Match& match : report.matches) add(match.warnings, "");
  return out;
}

}  // namespace

std::string sheet_html(const Report& report) {
  const std::size_t focus = focus_of(report);
  const std::string title = report.label.empty()
                                ? (report.plans != nullptr ? "Shade and layering" : "Shade")
                                : report.label;
  std::string out = detail::sheet_begin(
      title,
      std::string(report.plans != nullptr ? "Measured shade, nearest tabs and a layering plan"
                                          : "Measured shade and nearest tabs") +
          ", viewing " + to_string(report.viewing));
  out += "<div class=grid>" + answer(report, focus);
  const std::vector<std::string> warnings = all_warnings(report);
  if (!warnings.empty()) {
    out +=
        "<section class=\"full warn\"><h2>Warnings</h2>" + detail::bullets(warnings) + "</section>";
  }
  const std::string photo = detail::photo_figure(report);
  const std::string measured = "<h2>Measured colour</h2>" + readings_table(report) +
                               "<div class=side>" + detail::shade_map(report) +
                               detail::colour_plots(report) + "</div>";
  out += photo.empty()
             ? "<section class=full>" + measured + "</section>"
             : "<section><h2>Photo</h2>" + photo + "</section><section>" + measured + "</section>";
  out += ranked_table(report, focus) + plan_part(report) +
         "<section class=\"full cautions\"><h2>Card quality and what was assumed</h2>" +
         detail::bullets(assumptions(report)) + "</section>";
  out += "<section class=\"full cautions\"><h2>Cautions</h2>" + detail::bullets(cautions()) +
         "</section></div>";
  return out + detail::sheet_end(report_digest(report));
}

}  // namespace mamelon
