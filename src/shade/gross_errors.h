#pragma once
// Readings that do not belong to the others of their tab.

#include <cstddef>
#include <limits>
#include <vector>

#include "shade/study_rows.h"

namespace mamelon::detail {

struct GrossErrors {
  std::vector<double> distance;  // root of T² of every row against all others
  std::vector<Vec3> expected;    // what the rows that are kept lead to expect
  std::vector<bool> gross;
  // Chance of every row to be a gross error, by the tails that all rows show: one that lies just
  // beyond the cut may be sound, one that lies just within it may not.
  std::vector<double> chance_gross;
  double cut = 0;  // distance above which a row is gross; 0 where none can be told
  // Tabs of which fewer than two readings would be left, or whose readings fall into halves that
  // agree: none can be told wrong. Of such a tab one row is kept.
  struct Torn {
    std::size_t tab = 0;
    std::vector<std::size_t> rows;  // all of the tab
  };
  std::vector<Torn> torn;
  std::vector<bool> keep;  // rows that the variances may be taken from
  // The variance of all sound rows over that of the rows kept: each counts by its chance of being
  // sound.
  double variance_ratio = 1;
};

// All tabs share one covariance. A reading is held against what the others lead to expect, by
// Hotelling's T² of its deletion residual in the additive least-squares fit of tabs, days,
// operators and instruments; sound readings follow F exactly, however few they are. Several gross
// errors are told by the generalised extreme deviate (Rosner 1983, Technometrics 25:165): the
// farthest is taken out again and again, and the last that lies beyond the cut counts with all
// before it. Where the nearer readings have heavier tails than the normal distribution, the cut is
// raised. `chance` is that of a sound reading to lie beyond it. `usual_sd` stands in for a scale
// where fewer than 8 degrees of freedom could not show one.
GrossErrors find_gross_errors(const StudyRows& rows, double chance, const Vec3& usual_sd);

}  // namespace mamelon::detail
