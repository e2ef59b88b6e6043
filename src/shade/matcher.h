#pragma once
// A tab set made ready for many readings.

#include <cstddef>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "mamelon/match.h"

#include "shade/picks_under.h"
#include "shade/sample.h"

namespace mamelon::detail {

class Matcher {
 public:
  // `readings` are all that will be matched; they are checked here. Throws what `match` throws.
  Matcher(const TabSet& tabs, std::span<const Reading> readings, const MatchOptions& options);

  // Safe to call from several threads.
  [[nodiscard]] Match match(const Reading& reading) const;

 private:
  // Tabs by ΔE00, as far as they are reported or may be the best.
  struct Order {
    std::vector<double> de00;  // of every tab
    // Indices: those reported, nearest first, then others that may be the best.
    std::vector<std::size_t> nearest;
  };
  class Contest;
  [[nodiscard]] Order order(const Reading& reading) const;
  [[nodiscard]] double rms(const Measured<Lab>& reading) const;
  [[nodiscard]] Draws reading_errors(const Measured<Lab>& reading) const;
  void squared_distances(const Lab& reading, std::size_t tab, const Draws& errors, bool exact,
                         std::span<double> squared) const;
  void fill_chances(const Reading& reading, const Order& order, Match& result) const;
  [[nodiscard]] std::optional<Between> between(const Lab& reading, const Order& order) const;

  const TabSet& tabs_;
  MatchOptions options_;
  NormalSample sample_;
  Draws standard_random_;                          // of the reading's random error
  Draws standard_shared_;                          // of its shared error
  std::map<double, std::vector<double>> stretch_;  // by the readings' degrees of freedom
  std::map<double, double> reach_;                 // the same
  std::vector<Draws> tab_errors_;                  // random and shared, one entry a tab
  std::vector<double> tab_rms_;                    // of each tab's error in Lab
  double largest_tab_rms_ = 0;
  double tab_reach_ = 0;
  std::vector<std::string> set_warnings_;
  PicksUnder picks_under_;
  std::string set_digest_;
  std::string settings_;
};

}  // namespace mamelon::detail
