#include "mamelon/report.h"

#include <algorithm>

namespace mamelon {

bool is_invented(const Report& report) {
  return (report.tabs && report.tabs->invented) ||
         (report.request && report.request->pastes.invented);
}

bool is_answered(const Report& report) {
  const auto acceptable = [](double de00) { return de00 <= threshold::acceptable_de00; };
  return std::all_of(report.teeth.begin(), report.teeth.end(), [&](const ToothReport& tooth) {
    if (report.request) return tooth.best() != nullptr && acceptable(tooth.best()->de00);
    for (std::size_t i = 0; i < tooth.readings.size(); ++i) {
      if (!tooth.decides(i)) return false;
      if (i < tooth.matches.size() && !acceptable(tooth.matches[i].ranked.front().de00)) {
        return false;
      }
    }
    return true;
  });
}

Provenance provenance_of(const Report& report) {
  std::vector<std::string> inputs;
  for (const ToothReport& tooth : report.teeth) {
    for (const Reading& reading : tooth.readings) inputs.push_back(reading.provenance.digest);
    for (const Match& match : tooth.matches) inputs.push_back(match.provenance.digest);
    if (tooth.plans) inputs.push_back(tooth.plans->provenance.digest);
  }
  return make_provenance("report", to_string(report.viewing), std::move(inputs));
}

std::string name_of(const Reading& reading) {
  return reading.zone.empty() ? reading.label : reading.label + ", " + reading.zone;
}

std::string zone_name(const Reading& reading) {
  return reading.zone.empty() ? reading.label : reading.zone;
}

std::vector<std::string> all_notes(const Report& report) {
  std::vector<std::string> notes;
  const auto add = [&](const std::string& text) {
    const bool told =
        std::find(report.warnings.begin(), report.warnings.end(), text) != report.warnings.end() ||
        std::find(notes.begin(), notes.end(), text) != notes.end();
    if (!told) notes.push_back(text);
  };
  for (const std::string& text : report.notes) add(text);
  for (const ToothReport& tooth : report.teeth) {
    for (const Reading& reading : tooth.readings) {
      for (const std::string& text : reading.warnings) add(name_of(reading) + ": " + text);
    }
    for (const Match& match : tooth.matches) {
      for (const std::string& text : match.warnings) add(text);
    }
  }
  return notes;
}

bool is_inside_interval(const RankedTab& tab) {
  return tab.low <= tab.de00 && tab.de00 <= tab.high;
}

bool is_uncertainty_known(const Reading& reading) {
  return reading.lab.covariance() != Mat3{};
}

}  // namespace mamelon
