#pragma once
// The sampled errors of a tab set and of the readings that are matched to it.

#include <map>
#include <span>
#include <vector>

#include "mamelon/tabs.h"

#include "shade/sample.h"

namespace mamelon::detail {

// Where a covariance was estimated on ν degrees of freedom, the width of its errors depends on the
// question. An interval covers a truth that stands fixed: Student's t on ν. A comparison between
// tabs asks on which side of the plane between two tabs a tooth lies that may lie anywhere; teeth
// that are seen a given number of estimated standard deviations from it are more often those whose
// standard deviation was overestimated, in proportion to it. Weighting by it turns the χ² of ν
// into that of ν + 1: errors are z √(ν/χ²(ν + 1)).
enum class Question { interval, comparison };

class ErrorSample {
 public:
  ErrorSample(const TabSet& tabs, std::span<const double> reading_dofs, const NormalSample& sample,
              Question question);

  [[nodiscard]] Draws of_reading(const Measured<Lab>& reading) const;
  [[nodiscard]] const Draws& of_tab(std::size_t tab) const { return tab_errors_[tab]; }

 private:
  Draws standard_random_;                          // of the reading's random error
  Draws standard_shared_;                          // of its shared error
  std::map<double, std::vector<double>> stretch_;  // by the readings' whole degrees of freedom
  std::vector<Draws> tab_errors_;                  // random and shared
};

}  // namespace mamelon::detail
