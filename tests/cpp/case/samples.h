#pragma once
// Cases of readings, without a photo.

#include <string>
#include <vector>

#include "mamelon/case.h"

#include "plan_samples.h"

namespace mamelon::test {

inline Reading read_at(const std::string& label, const std::string& zone, const Lab& lab,
                       double sd = 0.3) {
  Reading reading{label, zone, {lab, {}, {}}, std::nullopt, d65(), 1, {}, {}};
  reading.lab.random = diagonal({sd * sd, sd * sd, sd * sd});
  reading.provenance = make_provenance("test", label + zone + std::to_string(lab.l), {});
  return reading;
}

inline Tab tab_at(const std::string& name, const Lab& lab) {
  Tab tab{.name = name, .lab = {}, .reflectance = {}};
  tab.lab.value = lab;
  return tab;
}

// Two teeth of three zones each, the second darker.
inline Case two_teeth() {
  Case given{.viewing = d65()};
  given.tabs = TabSet{.name = "invented",
                      .tabs = {tab_at("reed", {74, 1, 17}), tab_at("clay", {66, 3, 23})},
                      .viewing = d65(),
                      .provenance = {}};
  std::vector<Reading> table;
  for (const auto& [label, l, b] : {std::tuple{"11", 74.0, 17.0}, std::tuple{"21", 66.0, 23.0}}) {
    table.push_back(read_at(label, "cervical", {l - 2, 3, b + 2}));
    table.push_back(read_at(label, "middle", {l, 2, b}));
    table.push_back(read_at(label, "incisal", {l - 1, 1, b - 3}));
  }
  given.teeth = teeth_of(table);
  return given;
}

inline Restoration restoration() {
  Restoration asked;
  asked.pastes = sample_set(4, 3);
  asked.floor.reflectance = flat_floor(0.3);
  asked.depths_mm = {2};
  return asked;
}

}  // namespace mamelon::test
