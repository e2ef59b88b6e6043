#pragma once
/// @file
/// The table from tab to paste for an operator's own tabs, pastes and depth.

#include <cstddef>
#include <string>
#include <vector>

#include "mamelon/description.h"
#include "mamelon/plan.h"
#include "mamelon/tabs.h"

namespace mamelon {

/// One tab's recipes: its best plans, fewest layers first, and which of them to take.
struct CrosswalkRow {
  std::string tab;
  std::vector<Plan> plans;
  std::size_t recommended = 0;
  std::string why;
  std::vector<std::string> warnings;
  Provenance provenance;
};
template <>
struct Fields<CrosswalkRow> {
  static constexpr const char* name = "CrosswalkRow";
  static constexpr auto all() {
    using T = CrosswalkRow;
    return FieldList{needed("tab", &T::tab, "name of the tab"),
                     needed("plans", &T::plans, "its best plans, fewest layers first"),
                     field("recommended", &T::recommended, "index into `plans`"),
                     field("why", &T::why, "the reason in one sentence"),
                     field("warnings", &T::warnings, "what to know before using it"),
                     field("provenance", &T::provenance, "how it was made")};
  }
};

/// The best plan of every number of layers for each tab, in the tabs' order. Everything but the
/// target comes from `request`; the target is the tab's colour, curve and uncertainty under the
/// set's viewing. Tabs are planned in parallel; the result does not depend on the number of
/// threads. `progress` is asked as by `plan`. Throws ArgumentError for a tab set that
/// `check_tab_set` refuses, and as `plan` does.
[[nodiscard]] std::vector<CrosswalkRow> crosswalk(const TabSet& tabs, const PlanRequest& request,
                                                  const Progress& progress = {});

}  // namespace mamelon
