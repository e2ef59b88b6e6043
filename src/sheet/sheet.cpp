#include "mamelon/sheet.h"

#include <algorithm>
#include <string>
#include <vector>

#include "base/numbers.h"
#include "sheet/html.h"
#include "sheet/sheet_parts.h"

namespace mamelon {

namespace {

using detail::escaped;
using detail::format_fixed;
using detail::number_text;

// With a capital, as a heading begins.
std::string heading(std::string text) {
  if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') {
    text[0] = static_cast<char>(text[0] - 'a' + 'A');
  }
  return text;
}

const Tab* tab_named(const Report& report, const std::string& name) {
  if (!report.tabs) return nullptr;
  for (const Tab& tab : report.tabs->tabs) {
    if (tab.name == name) return &tab;
  }
  return nullptr;
}

// What is shown of ΔE00: a value outside its own interval is not.
std::string shown_de00(const RankedTab& tab, int decimals) {
  return is_inside_interval(tab)
             ? format_fixed(tab.de00, decimals)
             : format_fixed(tab.low, decimals) + " – " + format_fixed(tab.high, decimals);
}

// Name of a reading beside those of its tooth, or of several teeth.
std::string name_in(const Report& report, const Reading& reading) {
  return report.teeth.size() > 1 ? name_of(reading) : zone_name(reading);
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

std::string layers_in_words(const Plan& plan) {
  std::string layers;
  for (const PlannedLayer& layer : plan.layers) {
    layers += (layers.empty() ? "" : ", then ") + layer.paste + " " +
              format_fixed(layer.thickness_mm, 1) + " mm";
  }
  return layers;
}

std::string answer(const Report& report) {
  const ToothReport& tooth = report.first();
  const std::size_t focus = tooth.planned;
  std::string out = "<section class=full aria-label=\"Answer\">";
  if (focus < tooth.matches.size() && !tooth.matches[focus].ranked.empty()) {
    const RankedTab& first = tooth.matches[focus].ranked.front();
    const std::string words = difference_in_words(first);
    out += "<p class=answer>" + escaped(heading(name_in(report, tooth.readings[focus]))) +
           ": nearest tab " + escaped(first.tab) + ", ΔE<sub>00</sub> " + shown_de00(first, 1) +
           ", ";
    out += tooth.decides(focus)
               ? in_words(first.grade) + (words.starts_with("no ") ? ", " : "; the tooth is ") +
                     escaped(words)
               : "too uncertain to grade";
    out += "</p>";
  }
  if (const Plan* plan = tooth.best()) {
    out += "<p class=answer>" + std::string(is_invented(report) ? "Example" : "Plan") +
           " from the floor outward: " + escaped(layers_in_words(*plan), 600) +
           " (ΔE<sub>00</sub> " + format_fixed(plan->de00, 1) + " as planned, " +
           format_fixed(plan->de00_rms, 1) + " to be expected)</p>";
  }
  return out + "</section>";
}

std::string readings_table(const Report& report) {
  const bool all_known =
      std::all_of(report.teeth.begin(), report.teeth.end(), [](const ToothReport& tooth) {
        return std::all_of(tooth.readings.begin(), tooth.readings.end(), is_uncertainty_known);
      });
  std::string out = "<table><caption>CIELAB under " + escaped(to_string(report.viewing)) +
                    ", mean ± standard deviation" +
                    (all_known ? "" : " (± unknown where none was given)") +
                    "</caption><thead><tr><th scope=col>Zone<th "
                    "scope=col>Colour<th scope=col class=n>L*<th scope=col class=n>a*<th scope=col "
                    "class=n>b*<th scope=col>Nearest tab</tr></thead><tbody>";
  constexpr std::size_t most = 40;
  std::size_t rows = 0;
  for (const ToothReport& tooth : report.teeth) {
    for (std::size_t i = 0; i < tooth.readings.size(); ++i) {
      if (++rows > most) continue;
      const Reading& reading = tooth.readings[i];
      const bool known = is_uncertainty_known(reading);
      const Vec3 sd = reading.lab.sd();
      const auto value = [&](double mean, double spread) {
        return "<td class=n>" + number_text(mean, 1) +
               (known ? " <span class=sd>± " + number_text(spread, 1) + "</span>" : "");
      };
      const std::string name = name_in(report, reading);
      out +=
          "<tr><th scope=row>" + escaped(name, 40) + "<td>" +
          detail::swatch_single(reading.lab.value, report.viewing, "measured colour of " + name) +
          value(reading.lab.value.l, sd[0]) + value(reading.lab.value.a, sd[1]) +
          value(reading.lab.value.b, sd[2]) + "<td>";
      if (i < tooth.matches.size() && !tooth.matches[i].ranked.empty()) {
        const RankedTab& first = tooth.matches[i].ranked.front();
        out += escaped(first.tab, 40) + " (ΔE<sub>00</sub> " + shown_de00(first, 1) + ")";
      }
      out += "</tr>";
    }
  }
  out += "</tbody></table>";
  if (rows > most) {
    out += "<p class=quiet>" + std::to_string(rows - most) + " more readings are not shown.</p>";
  }
  return out;
}

std::string ranked_table(const Report& report) {
  const ToothReport& tooth = report.first();
  const std::size_t focus = tooth.planned;
  if (focus >= tooth.matches.size()) return {};
  const Match& match = tooth.matches[focus];
  std::string out =
      "<section class=full><h2>Ranked tabs: " + escaped(name_in(report, tooth.readings[focus])) +
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
      const Lab& colour = tooth.readings[focus].lab.value;
      clipped = clipped || detail::swatch_of(tab->lab.value, report.viewing).clipped ||
                detail::swatch_of(colour, report.viewing).clipped;
      out += detail::swatch_pair(colour, tab->lab.value, report.viewing,
                                 "tooth beside tab " + ranked.tab);
    }
    out += "<td class=n>" + (is_inside_interval(ranked) ? format_fixed(ranked.de00, 2) : "") +
           "<td class=\"n wide\">" + format_fixed(ranked.low, 2) + " – " +
           format_fixed(ranked.high, 2) + "<td class=n>" + detail::percent(ranked.chance_best) +
           "<td class=wide>" + (tooth.decides(focus) ? in_words(ranked.grade) : "withheld") +
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

std::string plan_part(const Report& report) {
  const ToothReport& tooth = report.first();
  const Plan* plan = tooth.best();
  if (plan == nullptr) return {};
  std::string out = "<section class=full><h2>Predicted colour</h2>" + predicted_table(*plan) +
                    "<p>ΔE<sub>00</sub> <strong>" + format_fixed(plan->de00, 2) +
                    "</strong> as planned, <strong>" + format_fixed(plan->de00_rms, 2) +
                    "</strong> to be expected, at most <strong>" + format_fixed(plan->de00_p95, 2) +
                    "</strong> in 19 of 20 cases.</p><p>" + escaped(tooth.plans->why, 600) +
                    "</p></section>";
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
  if (report.fit) out.push_back(card_quality(*report.fit));
  if (report.photo) {
    out.push_back(encoding_in_words(report.photo->encoding));
  }
  if (report.request) {
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
  if (report.tabs) sets += "Tabs: " + report.tabs->name + ".";
  if (report.request) sets += " Pastes: " + report.request->pastes.name + ".";
  if (!sets.empty()) out.push_back(sets);
  return out;
}

// The plans of the other teeth, a line each: their layers are drawn on sheets of their own.
std::string other_teeth(const Report& report) {
  std::string rows;
  for (std::size_t i = 0; i < report.teeth.size(); ++i) {
    const ToothReport& tooth = report.teeth[i];
    const Plan* plan = tooth.best();
    if (i == report.headline || plan == nullptr) continue;
    rows += "<tr><th scope=row>" + escaped(name_of(tooth.readings[tooth.planned]), 40) + "<td>" +
            escaped(layers_in_words(*plan), 200) + "<td class=n>" + format_fixed(plan->de00, 2) +
            "<td class=n>" + format_fixed(plan->de00_rms, 2) + "</tr>";
  }
  if (rows.empty()) return {};
  return "<section class=full><h2>The other teeth</h2><table><thead><tr><th scope=col>Tooth<th "
         "scope=col>Pastes from the floor outward<th scope=col class=n>ΔE<sub>00</sub><th "
         "scope=col "
         "class=n>expected</tr></thead><tbody>" +
         rows + "</tbody></table></section>";
}

}  // namespace

std::string sheet_html(const Report& report) {
  const bool planned = report.request.has_value();
  const bool invented = is_invented(report);
  const std::string title =
      !report.label.empty() ? report.label
      : !planned            ? "Shade"
                            : (invented ? "Example of shade and layering" : "Shade and layering");
  const Plan* const plan = report.first().best();
  std::string out = detail::sheet_begin(
      title, std::string(!planned   ? "Measured shade and nearest tabs"
                         : invented ? "Measured shade, nearest tabs and an example of layering"
                                    : "Measured shade, nearest tabs and a layering plan") +
                 ", viewing " + to_string(report.viewing));
  if (invented) out += detail::invented_mark();
  if (plan != nullptr) {
    out += "<div class=\"grid chair\">" + detail::chair_card(report, *plan) + "</div>";
    out += "<h2 class=behind>Evidence</h2>";
    if (invented) out += detail::invented_mark();
  }
  out += "<div class=grid>" + answer(report);
  if (!report.warnings.empty()) {
    out += "<section class=\"full warn\"><h2>" +
           std::string(report.warnings.size() > 1 ? "Warnings" : "Warning") + "</h2>" +
           detail::bullets(report.warnings) + "</section>";
  }
  const std::string photo = detail::photo_figure(report);
  const std::string measured = "<h2>Measured colour</h2>" + readings_table(report) +
                               "<div class=side>" + detail::shade_map(report) +
                               detail::colour_plots(report) + "</div>";
  out += photo.empty()
             ? "<section class=full>" + measured + "</section>"
             : "<section><h2>Photo</h2>" + photo + "</section><section>" + measured + "</section>";
  out += ranked_table(report) + plan_part(report) + other_teeth(report);
  const std::vector<std::string> notes = all_notes(report);
  if (!notes.empty()) {
    out +=
        "<section class=\"full cautions\"><h2>Notes</h2>" + detail::bullets(notes) + "</section>";
  }
  out += "<section class=\"full cautions\"><h2>Card quality and what was assumed</h2>" +
         detail::bullets(assumptions(report)) + "</section>";
  out += "<section class=\"full cautions\"><h2>Cautions</h2>" + detail::bullets(cautions()) +
         "</section></div>";
  return out + detail::sheet_end(report.provenance.digest);
}

}  // namespace mamelon
