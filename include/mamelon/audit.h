#pragma once
/// @file
/// What a tab set can and cannot match, and whether it has changed.

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "mamelon/difference.h"
#include "mamelon/population.h"
#include "mamelon/tabs.h"

namespace mamelon {

struct Neighbour {
  std::string tab;
  std::string nearest;  ///< empty in a set of one
  double de00 = 0;
};

/// Two tabs closer than the perceptibility threshold: one of them is of no use.
struct RedundantPair {
  std::string first;
  std::string second;
  double de00 = 0;
  double chance = 0;  ///< that they truly are closer than the threshold
};

/// A region of the population without a tab within the acceptability threshold.
struct Gap {
  Lab centre{};         ///< the tooth that most of the region's teeth lie within the threshold of
  double share = 0;     ///< of the population that a tab at `centre` would newly serve
  std::string nearest;  ///< tab nearest to `centre`
  double de00 = 0;      ///< from `centre` to that tab
};

/// Coverage error: mean over teeth of ΔE00 to the nearest tab, with a 95 % bootstrap interval over
/// the teeth.
struct Coverage {
  double error_de00 = 0;
  double low = 0;
  double high = 0;
  double share_perceptible = 0;  ///< of teeth within the perceptibility threshold of a tab
  double share_acceptable = 0;
  double worst_de00 = 0;
};

/// The one colour that would lower the coverage error most, were a tab of it made.
struct ExtraTab {
  Lab lab{};
  double error_de00 = 0;  ///< coverage error with it
};

/// The best `tabs.size()` tabs of a set.
struct TabChoice {
  std::vector<std::string> tabs;  ///< in the set's order
  double error_de00 = 0;
  double bound_de00 = 0;  ///< no choice of as many tabs has a lower coverage error
  bool exact = false;     ///< the bound is met: this is the best choice
};

struct AuditOptions {
  DifferenceWeights weights;
  std::size_t bootstrap = 2000;
  std::uint64_t seed = 1;
};

struct Audit {
  std::vector<Neighbour> neighbours;  ///< in the set's order
  std::vector<RedundantPair> redundant;
  std::vector<std::string> by_lightness;  ///< lightest first
  std::vector<std::string> by_chroma;     ///< least chromatic first
  Coverage coverage;
  std::vector<Gap> gaps;  ///< largest share first, those that serve at least 1 % of the population
  ExtraTab extra_tab;
  std::string population;
  std::string population_note;
  std::vector<std::string> warnings;
  Provenance provenance;
};

/// Throws ArgumentError when the viewings differ, for an empty population or what `check_tab_set`
/// throws for.
[[nodiscard]] Audit audit(const TabSet& tabs, const Population& population,
                          const AuditOptions& options = {});

/// The `count` tabs with the least coverage error. All choices are compared where there are at
/// most 200 000 of them; otherwise greedy choice and exchange until nothing improves, with a bound
/// by Lagrangian relaxation (Cornuéjols, Fisher, Nemhauser 1977, Management Science 23:789).
/// Throws ArgumentError for a count of 0 or above the number of tabs.
[[nodiscard]] TabChoice best_tabs(const TabSet& tabs, const Population& population,
                                  std::size_t count, const DifferenceWeights& weights = {});

enum class DriftVerdict {
  steady,           ///< no change that the readings could show
  drifted,          ///< changed, not yet visibly
  drifted_visibly,  ///< changed by more than the perceptibility threshold
  not_testable,     ///< no repeatability behind one of the two colours
};
[[nodiscard]] std::string_view to_string(DriftVerdict verdict);

/// One tab against its own earlier calibration, the shift common to all tabs taken off.
struct TabDrift {
  std::string tab;
  double de00 = 0;
  Lab difference{};      ///< now minus earlier
  double t_squared = 0;  ///< Hotelling's statistic
  double p_value = 1;
  DriftVerdict verdict = DriftVerdict::steady;
};

struct DriftOptions {
  double false_alarm = 0.01;  ///< chance that a steady tab is said to have drifted
  DifferenceWeights weights;
};

struct Drift {
  std::vector<TabDrift> tabs;         ///< in the order of the new set
  Lab common_shift{};                 ///< of the tabs that did not drift; the instrument's, mostly
  double common_shift_de00 = 0;       ///< at the mean colour of the set
  double common_shift_p_value = 1;    ///< against the random and shared covariances of both sets
  bool common_shift_removed = false;  ///< false with fewer than 4 tabs in both sets
  std::vector<std::string> only_earlier;
  std::vector<std::string> only_now;
  std::vector<std::string> warnings;
};

/// Hotelling's T² of every tab that both sets have, with the effective degrees of freedom of two
/// unequal covariances (Yao 1965, Biometrika 52:139). Throws ArgumentError when the viewings
/// differ or no tab is in both sets.
[[nodiscard]] Drift drift(const TabSet& earlier, const TabSet& now,
                          const DriftOptions& options = {});

}  // namespace mamelon
