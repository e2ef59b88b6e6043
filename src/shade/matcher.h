#pragma once
// A tab set made ready for many readings.

#include <cstddef>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "mamelon/match.h"

#include "shade/error_sample.h"
#include "shade/picks_under.h"

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
  class Comparison;
  // The sampled errors of a reading about some colour.
  struct Sampled {
    Lab at{};
    Draws errors;
    double rms = 0;
  };
  [[nodiscard]] Order order(const Measured<Lab>& reading) const;
  [[nodiscard]] Sampled as_measured(const Measured<Lab>& reading, const ErrorSample& errors) const;
  // With the prior counted in; nothing where it would not matter.
  [[nodiscard]] std::optional<Sampled> under_prior(const Measured<Lab>& reading,
                                                   const ErrorSample& errors) const;
  [[nodiscard]] double rms(const Measured<Lab>& reading) const;
  [[nodiscard]] bool needs_exact(const Sampled& reading, const Order& order) const;
  // Squared ΔE00 of one draw after another, row after row for as many tabs of the order as
  // `squared` has room for.
  void fill_distances(const Sampled& reading, const Order& order, const ErrorSample& errors,
                      std::span<double> squared) const;
  void fill_chances(std::span<const double> squared, const Order& order, Match& result) const;
  void fill_chances(const Measured<Lab>& reading, const Order& order, Match& result) const;
  [[nodiscard]] std::optional<Between> between(const Lab& reading, const Order& order) const;

  const TabSet& tabs_;
  MatchOptions options_;
  ErrorSample interval_errors_;
  std::optional<ErrorSample> comparison_errors_;  // where they are not the same
  std::map<double, double> reach_;                // by the readings' whole degrees of freedom
  std::vector<double> tab_labs_;                  // L, a, b of each tab in turn
  bool for_vectors_ = true;                       // whether all of them are colours for vectors
  std::vector<double> tab_rms_;                   // of each tab's error in Lab
  double largest_tab_rms_ = 0;
  double tab_reach_ = 0;
  std::vector<std::string> set_warnings_;
  PicksUnder picks_under_;
  std::string set_digest_;
  std::string settings_;
};

}  // namespace mamelon::detail
