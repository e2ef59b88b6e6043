#include "cli/print.h"

#include <algorithm>
#include <iostream>
#include <set>
#include <string_view>
#include <vector>

#include "mamelon/error.h"
#include "mamelon/sheet.h"

#include "base/numbers.h"

namespace mamelon::cli {
namespace {

using detail::format_fixed;

std::string readings_text(const Terminal& terminal, const Report& report) {
  std::vector<std::vector<std::string>> rows;
  for (const ToothReport& tooth : report.teeth) {
    for (const Reading& reading : tooth.readings) {
      const Vec3 sd = reading.lab.sd();
      const Lab& lab = reading.lab.value;
      const bool known = is_uncertainty_known(reading);
      const auto value = [known](double mean, double spread) {
        return format_fixed(mean, 1) + " ± " + (known ? format_fixed(spread, 1) : "unknown");
      };
      rows.push_back({name_of(reading), swatch(terminal, lab, report.viewing), value(lab.l, sd[0]),
                      value(lab.a, sd[1]), value(lab.b, sd[2])});
    }
  }
  return paragraph(terminal, "Colour: CIELAB under " + to_string(report.viewing) +
                                 ", mean ± standard deviation") +
         table(terminal, {"", "", right("L*"), right("a*"), right("b*")}, rows);
}

// A difference that cannot be shown is not yet none: whether the nearest tab is shown to be alike.
std::string likeness_text(const Terminal& terminal, const Match& match) {
  const RankedTab& nearest = match.ranked.front();
  const auto within = [&](const char* threshold, double de00) {
    return "  With 95 %, " + nearest.tab + " lies within the " + threshold +
           " threshold of the tooth (ΔE00 " + format_fixed(de00, 1) + ").";
  };
  std::string text = "  That " + nearest.tab +
                     " is acceptable on the tooth is not shown with 95 %: the chance is " +
                     percent(nearest.chance_acceptable) + ".";
  if (nearest.surely_acceptable_match) text = within("acceptability", threshold::acceptable_de00);
  if (nearest.surely_perceptible_match)
    text = within("perceptibility", threshold::perceptible_de00);
  if (!match.prior.empty())
    text += " Chances count in what teeth look like (" + match.prior + "; --prior).";
  return paragraph(terminal, text);
}

// A value of ΔE00 outside its own interval is not shown, nor a grade that decides nothing.
std::string match_text(const Terminal& terminal, const Report& report, const ToothReport& tooth,
                       std::size_t i, std::size_t top) {
  const Match& match = tooth.matches[i];
  std::vector<std::vector<std::string>> rows;
  for (std::size_t k = 0; k < std::min(top, match.ranked.size()); ++k) {
    const RankedTab& tab = match.ranked[k];
    rows.push_back({tab.tab, swatch(terminal, tab.lab, report.viewing),
                    is_inside_interval(tab) ? format_fixed(tab.de00, 2) : "",
                    format_fixed(tab.low, 2) + "–" + format_fixed(tab.high, 2),
                    percent(tab.chance_best), tooth.decides(i) ? in_words(tab.grade) : "withheld",
                    difference_in_words(tab)});
  }
  return "\nNearest tabs to " + name_of(tooth.readings[i]) + "\n" +
         table(terminal,
               {"tab", "", right("ΔE00"), right("95 %"), right("best"), "grade", "the tooth is"},
               rows) +
         (tooth.decides(i) ? likeness_text(terminal, match) : std::string());
}

std::string portion_words(const Increment& step) {
  const char* const words[] = {"",     "first wedge", "second wedge", "along the walls",
                               "core", "contact wall"};
  std::string text = words[static_cast<std::size_t>(step.portion)];
  if (step.contour) text += text.empty() ? "to contour" : ", to contour";
  return text;
}

std::string increments_text(const Terminal& terminal, const Plan& plan) {
  std::vector<std::vector<std::string>> rows;
  bool estimated = false;
  for (const Increment& step : plan.increments) {
    estimated = estimated || !step.blue_measured;
    rows.push_back({std::to_string(step.order), step.paste,
                    format_fixed(step.thickness_mm, 1) + " mm", portion_words(step),
                    format_fixed(step.exposure_j_cm2, 0) + " J/cm²",
                    step.exposure_s ? format_fixed(*step.exposure_s, 0) + " s" : "",
                    percent(step.blue_share)});
  }
  return table(terminal,
               {right(""), "paste", right("thickness"), "", right("exposure"), right("light on"),
                right("460 nm through")},
               rows) +
         (estimated ? paragraph(terminal,
                                "  460 nm lies outside the constants: exponential attenuation from "
                                "the nearest band")
                    : "");
}

std::string layers_text(const Terminal& terminal, const Plan& plan) {
  std::vector<std::vector<std::string>> rows;
  for (const PlannedLayer& layer : plan.layers) {
    rows.push_back({layer.paste, std::string(to_string(layer.role)),
                    format_fixed(layer.thickness_mm, 1) + " mm",
                    format_fixed(layer.de00_per_0_1_mm, 2),
                    layer.extrapolated ? "extrapolated" : ""});
  }
  return table(terminal, {"layer", "role", right("thickness"), right("ΔE00 per 0.1 mm"), ""}, rows);
}

std::string zones_text(const Terminal& terminal, const ToothReport& tooth) {
  if (tooth.zone_plans.empty()) return "";
  std::vector<std::vector<std::string>> rows;
  for (std::size_t i = 0; i < tooth.zone_plans.size(); ++i) {
    const Plan& plan = tooth.zone_plans[i];
    rows.push_back({name_of(tooth.readings[i]), layers_in_words(plan), format_fixed(plan.de00, 2),
                    format_fixed(plan.de00_rms, 2)});
  }
  return "\nThe same pastes in every zone\n" +
         table(terminal, {"zone", "from the floor outward", right("ΔE00"), right("expected")},
               rows);
}

std::string plan_text(const Terminal& terminal, const ToothReport& tooth,
                      const PlanRequest& request) {
  const Reading& target = tooth.readings[tooth.planned];
  if (!tooth.plans) {
    return "\n" + paragraph(terminal, "No plan for " + name_of(target) +
                                          ": it is read too uncertainly to decide on");
  }
  const PlanSet& set = *tooth.plans;
  const Plan& best = *tooth.best();
  double depth_mm = 0;
  for (const PlannedLayer& layer : best.layers) depth_mm += layer.thickness_mm;
  std::string out =
      "\n" + paragraph(terminal, "Plan for " + name_of(target) + ", " + format_fixed(depth_mm, 1) +
                                     " mm deep, from the floor outward");
  out += layers_text(terminal, best) + "\n" + increments_text(terminal, best);
  out += paragraph(terminal, "  ΔE00 " + format_fixed(best.de00, 2) + " as planned; " +
                                 format_fixed(best.de00_rms, 2) + " to be expected and " +
                                 format_fixed(best.de00_p95, 2) +
                                 " at most in 19 of 20 cases with thickness "
                                 "held to ± " +
                                 format_fixed(request.thickness_sd_mm, 2) + " mm");
  out += paragraph(terminal, "  " + set.why);

  std::vector<std::vector<std::string>> rows;
  for (const PredictedColour& colour : best.predicted) {
    rows.push_back({to_string(colour.viewing), swatch(terminal, colour.lab, colour.viewing),
                    lab_cell(colour.lab), swatch(terminal, colour.target, colour.viewing),
                    lab_cell(colour.target), format_fixed(colour.de00, 2)});
  }
  out += "\nPredicted colour\n" +
         table(terminal, {"light", "", "predicted L* a* b*", "", "tooth L* a* b*", right("ΔE00")},
               rows);

  rows.clear();
  for (std::size_t i = 0; i < set.plans.size(); ++i) {
    if (i == set.recommended) continue;
    const Plan& plan = set.plans[i];
    rows.push_back(
        {format_fixed(plan.de00, 2), format_fixed(plan.de00_rms, 2), layers_in_words(plan)});
  }
  if (!rows.empty()) {
    out +=
        "\nOther plans\n" +
        table(terminal, {right("ΔE00"), right("expected"), "pastes from the floor outward"}, rows);
  }
  return out + zones_text(terminal, tooth);
}

}  // namespace

std::string percent(double share) {
  return format_fixed(100 * share, 0) + " %";
}

std::string lab_cell(const Lab& lab, int decimals) {
  return format_fixed(lab.l, decimals) + "  " + format_fixed(lab.a, decimals) + "  " +
         format_fixed(lab.b, decimals);
}

std::string layers_in_words(const Plan& plan) {
  std::string text;
  for (const PlannedLayer& layer : plan.layers) {
    if (!text.empty()) text += " + ";
    text += layer.paste + " " + format_fixed(layer.thickness_mm, 1) + " mm";
  }
  return text;
}

std::string shade_text(const Terminal& terminal, const Report& report, std::size_t top) {
  std::string out = readings_text(terminal, report);
  for (const ToothReport& tooth : report.teeth) {
    for (std::size_t i = 0; i < tooth.matches.size(); ++i) {
      out += match_text(terminal, report, tooth, i, top);
    }
  }
  return out;
}

std::string plan_text(const Terminal& terminal, const Report& report) {
  if (!report.request) return "";
  std::string out = plan_text(terminal, report.first(), *report.request);
  for (std::size_t i = 0; i < report.teeth.size(); ++i) {
    if (i != report.headline) out += plan_text(terminal, report.teeth[i], *report.request);
  }
  return out;
}

std::string card_text(const Terminal& terminal, const CardFit& fit) {
  std::vector<std::vector<std::string>> rows;
  for (const PatchFit& patch : fit.patches) {
    rows.push_back({patch.name, swatch(terminal, patch.reference, fit.viewing),
                    patch.used ? format_fixed(patch.de00, 2) : "",
                    patch.used ? format_fixed(patch.loo_de00, 2) : "",
                    patch.used ? "" : "left out: " + patch.reason});
  }
  return paragraph(terminal, "Card: " + std::string(to_string(fit.correction->method())) +
                                 ", leave-one-out ΔE00 " + format_fixed(fit.loo_de00_median, 2) +
                                 " median, " + format_fixed(fit.loo_de00_max, 2) +
                                 " largest; corners within " +
                                 format_fixed(fit.reprojection_rms_px, 2) + " px") +
         table(terminal, {"patch", "", right("ΔE00"), right("left out"), ""}, rows);
}

std::string cautions_text(const Terminal& terminal) {
  std::string out = "\nCautions\n";
  for (const std::string& caution : cautions()) {
    out += paragraph(terminal, "  - " + caution, 4);
  }
  return out;
}

void print_warnings(const Report& report) {
  print_warnings(report.warnings);
  for (const std::string& note : all_notes(report)) std::cerr << "mamelon: note: " << note << '\n';
}

void print_warnings(const std::vector<std::string>& warnings) {
  std::set<std::string_view> told;
  for (const std::string& warning : warnings) {
    if (told.insert(warning).second)
      std::cerr << "mamelon: warning: " << printable(warning) << '\n';
  }
}

void print(const std::string& text) {
  std::cout << shown(text) << std::flush;
  if (!std::cout) throw IoError("standard output cannot be written to");
}

}  // namespace mamelon::cli
