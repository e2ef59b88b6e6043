#pragma once
/// @file
/// A user-defined set of shade tabs.

#include <optional>
#include <string>
#include <vector>

#include "mamelon/reading.h"

namespace mamelon {

struct Tab {
  std::string name;
  Measured<Lab> lab;
  std::optional<Reflectance> curve;
};

struct TabSet {
  std::string name;
  std::vector<Tab> tabs;
  Viewing viewing;  ///< of every Lab in the set
  Provenance provenance;
};

/// Throws ArgumentError for an empty set, an empty or repeated name, a colour that is not finite
/// or outside L* 0–100, |a*|, |b*| ≤ 150, or a covariance that is not positive semi-definite.
void check_tab_set(const TabSet& tabs);

}  // namespace mamelon
