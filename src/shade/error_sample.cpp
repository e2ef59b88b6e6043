#include "shade/error_sample.h"

#include <cmath>
#include <cstdint>
#include <utility>

namespace mamelon::detail {
namespace {

// Blocks of the sample: which error takes which coordinates.
enum Block : std::uint64_t { reading_random, reading_shared, set_shared, first_tab };

const std::vector<double> unstretched;

}  // namespace

ErrorSample::ErrorSample(const TabSet& tabs, std::span<const double> reading_dofs,
                         const NormalSample& sample, Question question)
    : standard_random_(sample.standard(reading_random)),
      standard_shared_(sample.standard(reading_shared)) {
  const double more = question == Question::comparison ? 1 : 0;
  std::map<double, std::vector<double>> by_dof;
  const auto stretch = [&](double dof, std::uint64_t block) {
    const auto [factors, fresh] = by_dof.try_emplace(dof);
    if (fresh) factors->second = sample.stretches(dof, dof + more);
    return sample.shuffled(factors->second, block);
  };
  for (const double given : reading_dofs) {
    const double dof = std::floor(given);
    if (is_estimated(given) && !stretch_.contains(dof))
      stretch_[dof] = stretch(dof, reading_random);
  }
  const Draws shared = sample.standard(set_shared);
  std::map<double, std::vector<double>> shared_stretch;
  for (std::size_t i = 0; i < tabs.tabs.size(); ++i) {
    const Tab& tab = tabs.tabs[i];
    Draws errors(sample.size());
    if (tab.lab.random != Mat3{})
      add_error(errors, lower_root(tab.lab.random), sample.standard(first_tab + i),
                is_estimated(tab.lab.dof) ? stretch(tab.lab.dof, first_tab + i) : unstretched);
    if (tab.lab.shared != Mat3{}) {
      const auto [factors, fresh] = shared_stretch.try_emplace(tab.shared_dof);
      if (fresh && is_estimated(tab.shared_dof))
        factors->second = stretch(tab.shared_dof, set_shared);
      add_error(errors, lower_root(tab.lab.shared), shared, factors->second);
    }
    tab_errors_.push_back(std::move(errors));
  }
}

Draws ErrorSample::of_reading(const Measured<Lab>& reading) const {
  Draws errors(standard_random_.size());
  const bool estimated = is_estimated(reading.dof);
  // Two normal errors are one with the sum of their covariances.
  const Mat3 first = estimated ? reading.random : reading.covariance();
  if (first != Mat3{})
    add_error(errors, lower_root(first), standard_random_,
              estimated ? stretch_.at(std::floor(reading.dof)) : unstretched);
  if (estimated && reading.shared != Mat3{})
    add_error(errors, lower_root(reading.shared), standard_shared_, unstretched);
  return errors;
}

}  // namespace mamelon::detail
