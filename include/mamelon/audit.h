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

/// Coverage error: mean over teeth of ΔE00 to the nearest tab, with a 95 % studentised bootstrap
/// interval over the teeth. Where the population states its readings' own error, that is taken out
/// of error, interval and shares by simulation and extrapolation (Cook and Stefanski 1994, J Am Stat
/// Assoc 89:1314).
struct Coverage {
  double error_de00 = 0;
  double noise_de00 = 0;  ///< what the readings' own error had added
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
  double p_value = 1;    ///< of this tab taken alone
  DriftVerdict verdict = DriftVerdict::steady;
};

/// Whether the set as a whole changed, apart from the instrument.
enum class SetVerdict {
  unknown,  ///< no witness was read: it cannot be told from a change of the instrument
  steady,
  changed,
};
[[nodiscard]] std::string_view to_string(SetVerdict verdict);

struct DriftOptions {
  /// Chance that any tab of a steady set is said to have drifted, in (0, 0.5): the tests of all
  /// tabs are held to it together (Holm 1979, Scand J Statist 6:65). The tests of a common shift
  /// have the same chance each.
  double false_alarm = 0.05;
  DifferenceWeights weights;
  /// Entries of both sets that are no tabs but known to be stable, such as a check tile or a glazed
  /// specimen kept in the dark: their shift is the instrument's.
  std::vector<std::string> witnesses;
};

struct Drift {
  std::vector<TabDrift> tabs;         ///< in the order of the new set, without witnesses
  Lab common_shift{};                 ///< mean over the tabs that did not drift
  double common_shift_de00 = 0;       ///< at the mean colour of the set
  double common_shift_p_value = 1;    ///< against the random and shared covariances of both sets
  bool common_shift_removed = false;  ///< false with fewer than 4 tabs in both sets
  Lab witness_shift{};                ///< mean over the witnesses; zero without any
  Lab set_shift{};                    ///< common shift minus that of the witnesses; zero without any
  double set_shift_de00 = 0;
  double set_shift_p_value = 1;
  SetVerdict set_verdict = SetVerdict::unknown;
  std::string note;  ///< what the verdicts rest on, to be shown beside them
  std::vector<std::string> only_earlier;
  std::vector<std::string> only_now;
  std::vector<std::string> warnings;
};

/// Hotelling's T² of every tab that both sets have against the mean shift of the other steady tabs,
/// with the effective degrees of freedom of two unequal covariances (Yao 1965, Biometrika 52:139).
/// Tabs that drifted are taken out of that mean one by one, the clearest first. A common shift is
/// tested by its size in ΔE00 (Satterthwaite 1946), because a few days cannot show a covariance.
/// Throws ArgumentError when the viewings differ, no tab is in both sets, or a witness is missing
/// from one of them.
[[nodiscard]] Drift drift(const TabSet& earlier, const TabSet& now,
                          const DriftOptions& options = {});

}  // namespace mamelon
