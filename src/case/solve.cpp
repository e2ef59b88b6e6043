#include "mamelon/solve.h"

#include <algorithm>

#include "mamelon/error.h"

#include "base/find.h"
#include "base/listing.h"
#include "base/numbers.h"
#include "case/decide.h"
#include "case/measure.h"
#include "case/teeth.h"
#include "case/tooth_edge.h"

namespace mamelon {
namespace {

// What a reading by itself cannot tell of its error, the set that it is held against does, where
// that was calibrated by the same means.
void take_uncertainty(const TabSet& tabs, Report& report) {
  if (tabs.new_reading == Mat3{}) return;
  for (ToothReport& tooth : report.teeth) {
    for (Reading& reading : tooth.readings) {
      if (is_uncertainty_known(reading)) continue;
      reading.lab = uncertainty_in(reading, tabs);
      reading.warnings.push_back(
          "the reading states no uncertainty: that of a new reading by the set's own means stands "
          "in for it");
    }
  }
}

void rank(const Case& given, Report& report) {
  report.tabs = given.tabs;
  for (ToothReport& tooth : report.teeth) {
    tooth.matches = match_all(tooth.readings, *given.tabs, given.match);
    for (std::size_t i = 0; i < tooth.readings.size(); ++i) {
      const RankedTab& nearest = tooth.matches[i].ranked.front();
      // A plan has the last word on what can be reached.
      if (given.restoration || tooth.withheld[i] || nearest.de00 <= threshold::acceptable_de00) {
        continue;
      }
      report.warnings.push_back("no tab is within the acceptance threshold of " +
                                name_of(tooth.readings[i]) + ": the nearest is " + nearest.tab);
    }
  }
}

// The reading of a tooth that is planned for.
std::size_t planned_reading(const ToothReport& tooth, const std::string& zone) {
  std::vector<std::string> known;
  for (std::size_t i = 0; i < tooth.readings.size(); ++i) {
    const Reading& reading = tooth.readings[i];
    const bool wanted = zone.empty() ? tooth.readings.size() == 1 || reading.zone == "occlusal" ||
                                           reading.zone == "cusps"
                                     : reading.zone == zone || reading.label == zone;
    if (wanted) return i;
    known.push_back(zone_name(reading));
  }
  if (zone.empty()) {
    for (std::size_t i = 0; i < tooth.readings.size(); ++i) {
      if (tooth.readings[i].zone == "middle") return i;
    }
  }
  throw ArgumentError(
      (zone.empty() ? "say which zone is planned for" : "no reading is named \"" + zone + "\"") +
      "; there are " + detail::listing(known));
}

// Readings as a plan aims at them. A paste's colour is that of a wide layer, seen whole; tabs lose
// light as the tooth does, so that ranking them takes readings as they are.
std::vector<Reading> targets_of(const Case& given, const CaseTooth& asked, const ToothReport& tooth,
                                bool specular_included, Report& report) {
  std::vector<Reading> targets = tooth.readings;
  if (asked.readings.empty()) return targets;
  const auto note = [&](const std::string& text) {
    if (std::find(report.notes.begin(), report.notes.end(), text) == report.notes.end()) {
      report.notes.push_back(text);
    }
  };
  if (!given.aperture) {
    const bool by_instrument = std::any_of(targets.begin(), targets.end(), [](const Reading& one) {
      return one.reflectance.has_value();
    });
    if (by_instrument) {
      note(
          "what the instrument lights and sees is not stated: a small window reads teeth darker "
          "than they are; the plan takes it to be wide");
    }
    return targets;
  }
  for (Reading& target : targets) {
    target = detail::seen_widely(target, *given.aperture, specular_included);
  }
  const double lighter =
      targets[tooth.planned].lab.value.l - tooth.readings[tooth.planned].lab.value.l;
  if (lighter != 0) {
    note("an aperture of " + detail::format_short(given.aperture->lit_mm) + " mm lit and " +
         detail::format_short(given.aperture->seen_mm) + " mm seen loses light at its edge: for " +
         name_of(targets[tooth.planned]) + " the plan aims at a colour lighter by " +
         detail::format_fixed(lighter, 1) +
         " than was read; tabs are ranked as read, as if by the same instrument");
  }
  return targets;
}

void plan_tooth(const Case& given, const CaseTooth& of_case, PlanRequest& request,
                ToothReport& tooth, Report& report, const Progress& progress) {
  const Restoration& asked = *given.restoration;
  const std::vector<Reading> targets =
      targets_of(given, of_case, tooth, request.specular_included, report);
  request.target = targets[tooth.planned];
  if (asked.depths_mm.size() > 1) {
    if (asked.depths_mm.size() != tooth.readings.size()) {
      throw ArgumentError(tooth.name + " has " +
                          detail::counted(tooth.readings.size(), "reading", "readings") + ", but " +
                          detail::counted(asked.depths_mm.size(), "depth", "depths") +
                          " given; give one, or one a reading");
    }
    request.depth_mm = asked.depths_mm[tooth.planned];
  }
  if (tooth.withheld[tooth.planned]) {
    report.warnings.push_back("no plan is made: " + *tooth.withheld[tooth.planned]);
    return;
  }
  tooth.plans = plan(request, progress);
  const PlanSet& plans = *tooth.plans;
  // Why nothing is acceptable changes the decision; what else there is to know does not.
  for (const std::string& text : plans.warnings) {
    const bool decides = plans.out_of_reach && (text == plans.out_of_reach->reason ||
                                                text.starts_with("no allowed plan comes within"));
    (decides ? report.warnings : report.notes).push_back(text);
  }
  if (!asked.every_zone) return;
  std::vector<std::string> pastes;
  for (const PlannedLayer& layer : tooth.best()->layers) pastes.push_back(layer.paste);
  tooth.zone_plans =
      plan_zones(request, pastes, targets,
                 asked.depths_mm.size() > 1 ? std::span<const double>(asked.depths_mm)
                                            : std::span<const double>());
}

void withhold(const Case& given, Report& report) {
  for (ToothReport& tooth : report.teeth) {
    for (const Reading& reading : tooth.readings) {
      tooth.withheld.push_back(detail::too_uncertain(report, tooth, reading, given.match.weights));
      if (!given.restoration && tooth.withheld.back()) {
        report.warnings.push_back("no grade is given: " + *tooth.withheld.back());
      }
    }
  }
}

}  // namespace

Report solve(const Case& given, const SolveProgress& progress, SolveMemory* memory) {
  check_case(given);
  Report report{.label = given.label, .chair = given.chair, .viewing = given.viewing};
  report.headline = detail::headline_of(given);
  detail::measure(given, progress, report, memory);
  if (given.tabs) take_uncertainty(*given.tabs, report);
  withhold(given, report);
  if (given.tabs) {
    detail::step(progress, 0.7, "ranking the tabs");
    rank(given, report);
  }
  for (ToothReport& tooth : report.teeth) {
    const std::string zone = given.restoration ? given.restoration->zone : "";
    if (given.restoration) {
      tooth.planned = planned_reading(tooth, zone);
    } else {
      const auto middle = detail::find_by(tooth.readings, "middle", &Reading::zone);
      if (middle != tooth.readings.end()) {
        tooth.planned = static_cast<std::size_t>(middle - tooth.readings.begin());
      }
    }
  }
  if (given.restoration) {
    detail::step(progress, 0.75, "reading the floor");
    PlanRequest request = request_of(given, report.notes, memory);
    const double part = 0.2 / static_cast<double>(report.teeth.size());
    double begun = 0.8;
    for (std::size_t i = 0; i < report.teeth.size(); ++i) {
      ToothReport& tooth = report.teeth[i];
      const auto told = [&](double share) {
        return !progress || progress(begun + part * share, "planning the layers");
      };
      detail::step(progress, begun, "planning the layers");
      plan_tooth(given, given.teeth[i], request, tooth, report, told);
      begun += part;
      if (i == report.headline) report.request = request;
    }
  }
  if (is_invented(report)) {
    report.notes.emplace_back(
        "tabs or pastes are invented, for trying things out: nothing computed from them is a plan");
  }
  report.provenance = provenance_of(report);
  return report;
}

}  // namespace mamelon
