#pragma once
/// @file
/// Which tab a reading looks like, and how sure that is.

#include <cstdint>
#include <string>
#include <vector>

#include "mamelon/appearance.h"
#include "mamelon/difference.h"
#include "mamelon/tabs.h"

namespace mamelon {

/// One tab beside the reading; differences are reading minus tab.
struct RankedTab {
  std::string tab;
  double de00 = 0;
  double low = 0;   ///< 95 % interval of ΔE00
  double high = 0;
  double chance_best = 0;
  double chance_perceptible = 0;  ///< chance that ΔE00 ≤ PT: the difference cannot be seen
  double chance_acceptable = 0;   ///< chance that ΔE00 ≤ AT
  double dl = 0;                  ///< signed weighted parts of ΔE00
  double dc = 0;
  double dh = 0;
  Lab difference{};  ///< plain CIELAB differences of reading minus tab
  Grade grade = Grade::excellent;
};

/// Tabs in order of ΔE00, nearest first; equal differences in the set's order.
struct Match {
  std::string label;
  std::string zone;
  std::vector<RankedTab> ranked;
  std::vector<std::string> indistinguishable;  ///< tabs that may be the best: chance ≥ 5 %
  DifferenceWeights weights;
  std::vector<std::string> warnings;
  Provenance provenance;
};

struct MatchOptions {
  DifferenceWeights weights;
  std::size_t draws = 4096;  ///< of the low-discrepancy sample
  std::uint64_t seed = 1;
};

/// Ranks the whole set for a reading. Throws ArgumentError when the viewings differ.
[[nodiscard]] Match match(const Reading& reading, const TabSet& tabs,
                          const MatchOptions& options = {});

/// How the reading differs from the tab in the words of the trade, for instance
/// `lighter, more chromatic, redder`; `no visible difference` within the perceptibility threshold.
[[nodiscard]] std::string difference_in_words(const RankedTab& tab);

}  // namespace mamelon
