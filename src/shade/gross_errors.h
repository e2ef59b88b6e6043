#pragma once
// Readings that do not belong to the others of their tab.

#include <vector>

#include "shade/study_rows.h"

namespace mamelon::detail {

struct GrossErrors {
  std::vector<double> distance;  // robust Mahalanobis distance of every row
  std::vector<Vec3> expected;    // what the other readings lead to expect
  std::vector<bool> gross;
  double cut = 0;  // distance above which a row is gross; 0 where none can be told
  // Tabs of which half or more would be gross: none of their readings can be told wrong.
  std::vector<std::size_t> torn_tabs;
};

// Residuals are taken from an additive fit by medians (tab, day, operator, instrument; Tukey 1977),
// their scatter by concentration on the nearer nine tenths from a start by median absolute
// deviations, scaled to be right for the normal distribution. `chance` is that of a sound reading
// to lie beyond the cut.
GrossErrors find_gross_errors(const StudyRows& rows, double chance);

}  // namespace mamelon::detail
