#include "mamelon/match.h"

#include "base/parallel.h"
#include "shade/matcher.h"
#include "shade/visits.h"

namespace mamelon {

Match match(const Reading& reading, const TabSet& tabs, const MatchOptions& options) {
  return detail::Matcher(tabs, std::span(&reading, 1), options).match(reading);
}

std::vector<Match> match_all(std::span<const Reading> readings, const TabSet& tabs,
                             const MatchOptions& options) {
  const detail::Matcher matcher(tabs, readings, options);
  const std::vector<std::size_t> visits = detail::visiting_order(readings);
  std::vector<Match> matches(readings.size());
  detail::parallel_for(
      readings.size(), 16,
      [&](std::size_t begin, std::size_t end) {
        for (std::size_t i = begin; i < end; ++i)
          matches[visits[i]] = matcher.match(readings[visits[i]]);
      },
      options.threads);
  return matches;
}

}  // namespace mamelon
