#include "mamelon/match.h"

#include "base/parallel.h"
#include "shade/matcher.h"

namespace mamelon {

Match match(const Reading& reading, const TabSet& tabs, const MatchOptions& options) {
  return detail::Matcher(tabs, std::span(&reading, 1), options).match(reading);
}

std::vector<Match> match_all(std::span<const Reading> readings, const TabSet& tabs,
                             const MatchOptions& options) {
  const detail::Matcher matcher(tabs, readings, options);
  std::vector<Match> matches(readings.size());
  detail::parallel_for(
      readings.size(), 16,
      [&](std::size_t begin, std::size_t end) {
        for (std::size_t i = begin; i < end; ++i) matches[i] = matcher.match(readings[i]);
      },
      options.threads);
  return matches;
}

}  // namespace mamelon
