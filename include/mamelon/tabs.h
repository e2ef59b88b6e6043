#pragma once
/// @file
/// A user-defined set of shade tabs.

#include <limits>
#include <optional>
#include <string>
#include <vector>

#include "mamelon/description.h"
#include "mamelon/limits.h"
#include "mamelon/reading.h"

namespace mamelon {

/// A shade tab with its measured colour.
struct Tab {
  std::string name;
  Measured<Lab> lab;
  std::optional<Reflectance> reflectance;
  /// Degrees of freedom behind `lab.shared`, which a few days or operators may have been the whole
  /// evidence for; infinite where it is known.
  double shared_dof = std::numeric_limits<double>::infinity();
};
template <>
struct Fields<Tab> {
  static constexpr const char* name = "Tab";
  static constexpr auto all() {
    return FieldList{
        needed("name", &Tab::name, "unique in its set").items(1, 200),
        needed("lab", &Tab::lab, "the colour with its uncertainty").spliced().strict(),
        field("reflectance", &Tab::reflectance, "where one was measured")
            .formerly("curve")
            .range(0, 2),
        field("shared_dof", &Tab::shared_dof, "degrees of freedom behind the shared covariance")
            .range(0, no_limit)
            .quiet()};
  }
};

/// Tabs under one viewing, with what a new reading would be uncertain by.
struct TabSet {
  std::string name;
  std::vector<Tab> tabs;
  Viewing viewing;  ///< of every Lab in the set
  /// Covariance of one new reading by the means that the set was read with, on another day and by
  /// another operator, and the degrees of freedom behind it; zero where it is not known. It stands
  /// in for the uncertainty of a single instrument reading that states none.
  Mat3 new_reading{};
  double new_reading_dof = std::numeric_limits<double>::infinity();
  bool polarised = false;  ///< read through crossed polarisers
  Provenance provenance;
  /// Made up, for trying things out: whatever comes of it is marked so and is no plan.
  bool invented = false;
};
template <>
struct Fields<TabSet> {
  static constexpr const char* name = "TabSet";
  static constexpr const char* format = "mamelon-tab-set";
  static constexpr const char* about = "A user-defined set of shade tabs";
  static TabSet blank() {
    return {.name = {}, .tabs = {}, .viewing = mamelon::blank<Viewing>(), .provenance = {}};
  }
  static constexpr auto all() {
    return FieldList{
        needed("name", &TabSet::name, "of the set").items(1, 200),
        needed("tabs", &TabSet::tabs, "in the set's own order").items(1, limits::tabs).unique(),
        needed("viewing", &TabSet::viewing, "of every colour in the set"),
        field("new_reading", &TabSet::new_reading,
              "covariance of one new reading by the means that the set was read with")
            .quiet(),
        field("new_reading_dof", &TabSet::new_reading_dof,
              "degrees of freedom behind new_reading; infinite when absent")
            .range(0, no_limit)
            .quiet(),
        field("polarised", &TabSet::polarised, "True: read through crossed polarisers").quiet(),
        field("invented", &TabSet::invented, "True: made up, for trying things out").quiet(),
        field("provenance", &TabSet::provenance, "how it was made").hidden()};
  }
  static void relate(const TabSet& value, const std::string& where) {
    check_covariances(value.new_reading, Mat3{}, where);
  }
};

/// Throws ArgumentError for what the description refuses. Equal colours are allowed.
inline void check_tab_set(const TabSet& tabs) {
  check(tabs, "tab set '" + tabs.name + "'");
}

}  // namespace mamelon
