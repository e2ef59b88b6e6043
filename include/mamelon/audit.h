#pragma once
/// @file
/// What a tab set can and cannot match, and whether it has changed.

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "mamelon/description.h"
#include "mamelon/difference.h"
#include "mamelon/population.h"
#include "mamelon/tabs.h"

namespace mamelon {

/// The tab of a set that lies nearest to another.
struct Neighbour {
  std::string tab;
  std::string nearest;
  double de00 = 0;
};
template <>
struct Fields<Neighbour> {
  static constexpr const char* name = "Neighbour";
  static constexpr auto all() {
    return FieldList{needed("tab", &Neighbour::tab, "name of the tab"),
                     needed("nearest", &Neighbour::nearest, "tab nearest to it"),
                     needed("de00", &Neighbour::de00, "between the two")};
  }
};

/// Two tabs closer than the perceptibility threshold: one of them is of no use.
struct RedundantPair {
  std::string first;
  std::string second;
  double de00 = 0;
  double chance = 0;
};
template <>
struct Fields<RedundantPair> {
  static constexpr const char* name = "RedundantPair";
  static constexpr auto all() {
    return FieldList{needed("first", &RedundantPair::first, "name of one tab"),
                     needed("second", &RedundantPair::second, "name of the other"),
                     needed("de00", &RedundantPair::de00, "between the two"),
                     field("chance", &RedundantPair::chance,
                           "that they truly are closer than the perceptibility threshold")};
  }
};

/// A region of the population without a tab within the acceptability threshold.
struct Gap {
  Lab centre{};
  double share = 0;
  std::string nearest;
  double de00 = 0;
};
template <>
struct Fields<Gap> {
  static constexpr const char* name = "Gap";
  static constexpr auto all() {
    return FieldList{
        needed("centre", &Gap::centre,
               "colour of the tooth in its middle; the tooth that most of the region's teeth lie "
               "within the threshold of"),
        needed("share", &Gap::share, "of the population that a tab there would newly serve"),
        needed("nearest", &Gap::nearest, "tab nearest to the centre"),
        needed("de00", &Gap::de00, "from the centre to that tab")};
  }
};

/// Coverage error: mean over teeth of ΔE00 to the nearest tab, with a 95 % studentised bootstrap
/// interval over the teeth. Where the population states its readings' own error, that is taken out
/// of error, interval and shares by simulation and extrapolation (Cook and Stefanski 1994, J Am
/// Stat Assoc 89:1314).
struct Coverage {
  double error_de00 = 0;
  double noise_de00 = 0;  ///< what the readings' own error had added
  double low = 0;
  double high = 0;
  double share_perceptible = 0;
  double share_acceptable = 0;
  double worst_de00 = 0;
};
template <>
struct Fields<Coverage> {
  static constexpr const char* name = "Coverage";
  static constexpr auto all() {
    using T = Coverage;
    return FieldList{
        needed("error_de00", &T::error_de00, "mean over teeth of ΔE00 to the nearest tab"),
        needed("low", &T::low, "lower end of its 95 % bootstrap interval over the teeth"),
        needed("high", &T::high, "upper end of that interval"),
        field("noise_de00", &T::noise_de00, "what the readings' own error had added"),
        field("share_perceptible", &T::share_perceptible,
              "of teeth within the perceptibility threshold of a tab"),
        field("share_acceptable", &T::share_acceptable,
              "of teeth within the acceptability threshold of a tab"),
        field("worst_de00", &T::worst_de00, "largest over the teeth")};
  }
};

/// The one colour that would lower the coverage error most, were a tab of it made.
struct ExtraTab {
  Lab lab{};
  double error_de00 = 0;
};
template <>
struct Fields<ExtraTab> {
  static constexpr const char* name = "ExtraTab";
  static constexpr auto all() {
    return FieldList{needed("lab", &ExtraTab::lab, "colour that would help most"),
                     needed("error_de00", &ExtraTab::error_de00, "coverage error with it")};
  }
};

/// The best `tabs.size()` tabs of a set.
struct TabChoice {
  std::vector<std::string> tabs;
  double error_de00 = 0;
  double bound_de00 = 0;
  bool exact = false;
};
template <>
struct Fields<TabChoice> {
  static constexpr const char* name = "TabChoice";
  static constexpr auto all() {
    using T = TabChoice;
    return FieldList{
        needed("tabs", &T::tabs, "names in the set's order"),
        needed("error_de00", &T::error_de00, "coverage error of the choice"),
        field("bound_de00", &T::bound_de00, "no choice of as many tabs has a lower one"),
        field("exact", &T::exact,
              "True when the bound is met; the bound is met: this is the best choice")};
  }
};

/// How an audit is made.
struct AuditOptions {
  DifferenceWeights weights;     ///< of CIEDE2000
  std::size_t bootstrap = 2000;  ///< draws behind the interval
  std::uint64_t seed = 1;        ///< of those draws
};

/// What a tab set can and cannot match.
struct Audit {
  std::vector<Neighbour> neighbours;
  std::vector<RedundantPair> redundant;
  std::vector<std::string> by_lightness;
  std::vector<std::string> by_chroma;
  Coverage coverage;
  std::vector<Gap> gaps;
  ExtraTab extra_tab;
  std::string population;
  std::string population_note;
  std::vector<std::string> warnings;
  Provenance provenance;
};
template <>
struct Fields<Audit> {
  static constexpr const char* name = "Audit";
  static constexpr auto all() {
    using T = Audit;
    return FieldList{
        needed("neighbours", &T::neighbours, "in the set's order"),
        needed("redundant", &T::redundant, "pairs closer than the perceptibility threshold"),
        needed("by_lightness", &T::by_lightness, "names, lightest first"),
        needed("by_chroma", &T::by_chroma, "names, least chromatic first"),
        needed("coverage", &T::coverage, "of the population"),
        field("gaps", &T::gaps,
              "regions without an acceptable tab, largest first; largest share first, those that "
              "serve at least 1 % of the population"),
        field("extra_tab", &T::extra_tab, "the one colour that would help most"),
        field("population", &T::population, "name of the sample"),
        field("population_note", &T::population_note, "what the sample rests on"),
        field("warnings", &T::warnings, "what to know before using it"),
        field("provenance", &T::provenance, "how it was made")};
  }
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

/// What is said of a tab that is held against its earlier calibration.
enum class DriftVerdict {
  steady,           ///< no change that the readings could show
  drifted,          ///< changed, not yet visibly
  drifted_visibly,  ///< changed by more than the perceptibility threshold
  not_testable,     ///< no repeatability behind one of the two colours
};
template <>
struct Words<DriftVerdict> {
  static constexpr const char* name = "DriftVerdict";
  static constexpr auto words = words_of("steady", "drifted", "drifted_visibly", "not_testable");
};

/// One tab against its own earlier calibration, the shift common to all tabs taken off.
struct TabDrift {
  std::string tab;
  double de00 = 0;
  Lab difference{};
  double t_squared = 0;
  double p_value = 1;
  DriftVerdict verdict = DriftVerdict::steady;
};
template <>
struct Fields<TabDrift> {
  static constexpr const char* name = "TabDrift";
  static constexpr auto all() {
    using T = TabDrift;
    return FieldList{
        needed("tab", &T::tab, "name of the tab"),
        needed("de00", &T::de00, "between now and earlier, the common shift taken off"),
        field("difference", &T::difference, "now minus earlier in CIELAB"),
        field("t_squared", &T::t_squared, "Hotelling's statistic").hidden(),
        field("p_value", &T::p_value, "of no drift, of this tab taken alone"),
        field("verdict", &T::verdict, "in a word")};
  }
};

/// Whether the set as a whole changed, apart from the instrument.
enum class SetVerdict {
  unknown,  ///< no witness was read: it cannot be told from a change of the instrument
  steady,
  changed,
};
template <>
struct Words<SetVerdict> {
  static constexpr const char* name = "SetVerdict";
  static constexpr auto words = words_of("unknown", "steady", "changed");
};

/// How drift is told.
struct DriftOptions {
  /// Chance that any tab of a steady set is said to have drifted, in (0, 0.5): the tests of all
  /// tabs are held to it together (Holm 1979, Scand J Statist 6:65). The tests of a common shift
  /// have the same chance each.
  double false_alarm = 0.05;
  DifferenceWeights weights;  ///< of CIEDE2000
  /// Entries of both sets that are no tabs but known to be stable, such as a check tile or a glazed
  /// specimen kept in the dark: their shift is the instrument's.
  std::vector<std::string> witnesses;
};

/// A tab set against its own earlier calibration.
struct Drift {
  std::vector<TabDrift> tabs;
  Lab common_shift{};
  double common_shift_de00 = 0;
  double common_shift_p_value = 1;
  bool common_shift_removed = false;
  Lab witness_shift{};
  Lab set_shift{};
  double set_shift_de00 = 0;
  double set_shift_p_value = 1;
  SetVerdict set_verdict = SetVerdict::unknown;
  std::string note;
  std::vector<std::string> only_earlier;
  std::vector<std::string> only_now;
  std::vector<std::string> warnings;
};
template <>
struct Fields<Drift> {
  static constexpr const char* name = "Drift";
  static constexpr auto all() {
    using T = Drift;
    return FieldList{
        needed("tabs", &T::tabs, "in the order of the new set"),
        field("common_shift", &T::common_shift,
              "of the tabs that did not drift; the instrument's, mostly"),
        field("common_shift_de00", &T::common_shift_de00, "at the mean colour of the set"),
        field("common_shift_p_value", &T::common_shift_p_value,
              "of no common shift; against the random and shared covariances of both sets"),
        field("common_shift_removed", &T::common_shift_removed,
              "False with fewer than 4 tabs in both sets"),
        field("witness_shift", &T::witness_shift, "of the witnesses: the instrument's"),
        field("set_shift", &T::set_shift, "of the whole set, the witnesses' taken off"),
        field("set_shift_de00", &T::set_shift_de00, "at the mean colour of the set"),
        field("set_shift_p_value", &T::set_shift_p_value, "of no such shift; 1 without witnesses"),
        field("set_verdict", &T::set_verdict, "unknown, steady or changed"),
        field("note", &T::note, "what the verdicts rest on, to be shown beside them"),
        field("only_earlier", &T::only_earlier, "tabs missing now"),
        field("only_now", &T::only_now, "tabs missing earlier"),
        field("warnings", &T::warnings, "what to know before using it")};
  }
};

/// Hotelling's T² of every tab that both sets have against the mean shift of the other steady tabs,
/// with the effective degrees of freedom of two unequal covariances (Yao 1965, Biometrika 52:139).
/// Tabs that drifted are taken out of that mean one by one, the clearest first. A common shift is
/// tested in L*, a* and b* one by one, because a few days cannot show a covariance: by Student's t
/// on Satterthwaite's degrees of freedom (1946, Biometrics Bulletin 2:110), the least of the three
/// chances held to all three by 1 − (1 − p)³ (Šidák 1967, J Am Stat Assoc 62:626).
/// Throws ArgumentError when the viewings differ, no tab is in both sets, or a witness is missing
/// from one of them.
[[nodiscard]] Drift drift(const TabSet& earlier, const TabSet& now,
                          const DriftOptions& options = {});

}  // namespace mamelon
