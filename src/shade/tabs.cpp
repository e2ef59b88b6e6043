#include "mamelon/tabs.h"

#include <cmath>
#include <unordered_set>

#include "mamelon/limits.h"

#include "base/numbers.h"

namespace mamelon {
namespace {

bool in_range(const Lab& lab) {
  // Written so that NaN is out of range.
  return lab.l >= 0 && lab.l <= 100 && std::fabs(lab.a) <= 150 && std::fabs(lab.b) <= 150;
}

std::string describe(const Lab& lab) {
  return "(" + detail::format_short(lab.l) + ", " + detail::format_short(lab.a) + ", " +
         detail::format_short(lab.b) + ")";
}

}  // namespace

void check_tab_set(const TabSet& tabs) {
  const std::string set = tabs.name.empty() ? "the tab set" : "tab set '" + tabs.name + "'";
  if (tabs.tabs.empty()) throw ArgumentError(set + " has no tabs; at least one is needed");
  if (tabs.tabs.size() > limits::tabs)
    throw ArgumentError(set + " has " + std::to_string(tabs.tabs.size()) + " tabs; at most " +
                        std::to_string(limits::tabs) + " are taken");
  if (!is_covariance(tabs.new_reading) || !(tabs.new_reading_dof >= 0))
    throw ArgumentError(set + " states the uncertainty of a new reading by a covariance that is " +
                        "not symmetric positive semi-definite, or by undefined degrees of freedom");
  std::unordered_set<std::string_view> names;
  for (std::size_t i = 0; i < tabs.tabs.size(); ++i) {
    const Tab& tab = tabs.tabs[i];
    if (tab.name.empty())
      throw ArgumentError("tab " + std::to_string(i + 1) + " of " + set + " has no name");
    const std::string where = "tab '" + tab.name + "' of " + set;
    if (!names.insert(tab.name).second)
      throw ArgumentError(where + " stands there twice; names must differ");
    if (!in_range(tab.lab.value))
      throw ArgumentError(where + " has the colour " + describe(tab.lab.value) +
                          "; L* must lie in 0–100, a* and b* in ±150");
    if (!is_covariance(tab.lab.random) || !is_covariance(tab.lab.shared))
      throw ArgumentError(where + " has a covariance that is not symmetric positive semi-definite");
    if (!(tab.lab.dof >= 0) || !(tab.shared_dof >= 0))
      throw ArgumentError(where + " has negative or undefined degrees of freedom");
    if (tab.curve) check_reflectance(*tab.curve, where);
  }
}

}  // namespace mamelon
