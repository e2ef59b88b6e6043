#include "mamelon/match.h"

#include <algorithm>

#include "base/parallel.h"
#include "shade/matcher.h"
#include "shade/morton_order.h"
#include "shade/pair_metric.h"
#include "shade/spread.h"

namespace mamelon {

Measured<Lab> uncertainty_in(const Reading& reading, const TabSet& tabs) {
  // Repeats with fewer degrees of freedom cannot show a covariance in three coordinates.
  constexpr double least_dof = 4;
  Measured<Lab> lab = reading.lab;
  const bool stated = tabs.new_reading != Mat3{};
  if (lab.covariance() == Mat3{}) {
    if (!stated) return lab;
    lab.random =
        scale(tabs.new_reading, 1 / static_cast<double>(std::max<std::size_t>(reading.count, 1)));
    lab.dof = tabs.new_reading_dof;
    return lab;
  }
  if (!(lab.dof >= 1 && lab.dof < least_dof) || lab.random == Mat3{}) return lab;
  // The shape that repeats mostly have: lightness repeats worst, a* best.
  const Mat3 shape = stated ? tabs.new_reading : diagonal({0.25, 0.0576, 0.16});
  const Mat3 metric = detail::local_metric(lab.value, {});
  const double size = detail::mean_square(metric, lab.random) / detail::mean_square(metric, shape);
  lab.random = scale(shape, size);
  lab.dof *= detail::effective_axes(metric, shape);
  return lab;
}

Match match(const Reading& reading, const TabSet& tabs, const MatchOptions& options) {
  return detail::Matcher(tabs, std::span(&reading, 1), options).match(reading);
}

std::vector<Match> match_all(std::span<const Reading> readings, const TabSet& tabs,
                             const MatchOptions& options) {
  const detail::Matcher matcher(tabs, readings, options);
  const std::vector<std::size_t> order = detail::morton_order(readings);
  std::vector<Match> matches(readings.size());
  detail::parallel_for(
      readings.size(), 16,
      [&](std::size_t begin, std::size_t end) {
        for (std::size_t i = begin; i < end; ++i)
          matches[order[i]] = matcher.match(readings[order[i]]);
      },
      options.threads);
  return matches;
}

}  // namespace mamelon
