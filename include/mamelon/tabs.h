#pragma once
/// @file
/// A user-defined set of shade tabs.

#include <limits>
#include <optional>
#include <string>
#include <vector>

#include "mamelon/reading.h"

namespace mamelon {

struct Tab {
  std::string name;
  Measured<Lab> lab;
  std::optional<Reflectance> curve;
  /// Degrees of freedom behind `lab.shared`, which a few days or operators may have been the whole
  /// evidence for; infinite where it is known.
  double shared_dof = std::numeric_limits<double>::infinity();
};

struct TabSet {
  std::string name;
  std::vector<Tab> tabs;
  Viewing viewing;  ///< of every Lab in the set
  /// Covariance of one new reading by the means that the set was read with, on another day and by
  /// another operator, and the degrees of freedom behind it; zero where it is not known. It stands
  /// in for the uncertainty of a single instrument reading that states none.
  Mat3 new_reading{};
  double new_reading_dof = std::numeric_limits<double>::infinity();
  Provenance provenance;
};

/// Throws ArgumentError for an empty set, an empty or repeated name, a colour that is not finite
/// or outside L* 0–100, |a*|, |b*| ≤ 150, a covariance that is not positive semi-definite, or
/// degrees of freedom that are negative or not a number. Equal colours are allowed.
void check_tab_set(const TabSet& tabs);

}  // namespace mamelon
