#pragma once
/// @file
/// Which tab a reading looks like, and how sure that is.

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "mamelon/appearance.h"
#include "mamelon/description.h"
#include "mamelon/difference.h"
#include "mamelon/tabs.h"

namespace mamelon {

/// One tab beside the reading; differences are reading minus tab.
struct RankedTab {
  std::string tab;
  double de00 = 0;
  double low = 0;
  double high = 0;
  /// Chances count the prior in, where there is one; the interval does not.
  double chance_best = 0;
  double chance_perceptible = 0;
  double chance_acceptable = 0;
  /// Equivalence: the one-sided 95 % bound of ΔE00 lies within PT, or within AT. A difference that
  /// could not be shown is not yet one that is not there.
  bool surely_perceptible_match = false;
  bool surely_acceptable_match = false;
  double dl = 0;
  double dc = 0;
  double dh = 0;
  Lab difference{};
  Grade grade = Grade::excellent;
  Lab lab{};
};
template <>
struct Fields<RankedTab> {
  static constexpr const char* name = "RankedTab";
  static constexpr auto all() {
    return FieldList{
        needed("tab", &RankedTab::tab, "name of the tab"),
        needed("de00", &RankedTab::de00, "CIEDE2000 between reading and tab"),
        field("low", &RankedTab::low, "lower end of the 95 % interval of ΔE00"),
        field("high", &RankedTab::high, "upper end of the 95 % interval of ΔE00"),
        field("chance_best", &RankedTab::chance_best, "that this tab is the nearest, 0–1"),
        field("chance_perceptible", &RankedTab::chance_perceptible,
              "that ΔE00 lies within the perceptibility threshold, 0–1")
            .hidden(),
        field("chance_acceptable", &RankedTab::chance_acceptable,
              "that ΔE00 lies within the acceptability threshold, 0–1")
            .hidden(),
        field("surely_perceptible_match", &RankedTab::surely_perceptible_match,
              "True where ΔE00 lies within the perceptibility threshold with 95 %")
            .hidden(),
        field("surely_acceptable_match", &RankedTab::surely_acceptable_match,
              "True where ΔE00 lies within the acceptability threshold with 95 %")
            .hidden(),
        field("dl", &RankedTab::dl, "signed lightness part of ΔE00, reading minus tab").key("dL"),
        field("dc", &RankedTab::dc, "signed chroma part of ΔE00").key("dC"),
        field("dh", &RankedTab::dh, "signed hue part of ΔE00").key("dH"),
        field("difference", &RankedTab::difference, "plain CIELAB differences, reading minus tab")
            .hidden(),
        field("lab", &RankedTab::lab, "the tab's colour").hidden(),
        field("grade", &RankedTab::grade, "of the match by PT, AT, 2·AT, 3·AT")};
  }
};

/// The point between two tabs that looks most like the reading, mixed linearly in CIELAB.
struct Between {
  std::string nearer;
  std::string other;
  double share_of_other = 0;
  double de00 = 0;
};
template <>
struct Fields<Between> {
  static constexpr const char* name = "Between";
  static constexpr auto all() {
    return FieldList{needed("nearer", &Between::nearer, "the nearer tab"),
                     needed("other", &Between::other, "the other tab"),
                     needed("share_of_other", &Between::share_of_other,
                            "0–0.5: how far from `nearer` towards `other`"),
                     field("de00", &Between::de00, "of the reading to that point")};
  }
};

/// The pick under another light, where the reading and the tabs have reflectance curves.
struct PickUnder {
  std::string illuminant;
  std::string nearest;
  double nearest_de00 = 0;
  double first_de00 = 0;
};
template <>
struct Fields<PickUnder> {
  static constexpr const char* name = "PickUnder";
  static constexpr auto all() {
    return FieldList{needed("illuminant", &PickUnder::illuminant, "name of the light"),
                     needed("nearest", &PickUnder::nearest, "tab that is nearest under it"),
                     needed("nearest_de00", &PickUnder::nearest_de00, "ΔE00 to that tab"),
                     field("first_de00", &PickUnder::first_de00,
                           "of the tab that is nearest under the set's own viewing")};
  }
};

/// Tabs in order of ΔE00, nearest first; equal differences in the set's order.
struct Match {
  std::string label;
  std::string zone;
  std::vector<RankedTab> ranked;
  std::vector<std::string> indistinguishable;
  /// Set where the nearest tab differs visibly and a point between two tabs is at least a quarter
  /// nearer than it.
  std::optional<Between> between;
  /// Under D65, A and LED-B3, the reading's observer; empty unless the reading and the tabs have
  /// curves. A warning stands where the nearest tab is not the same under all of them.
  std::vector<PickUnder> picks_under;
  DifferenceWeights weights;
  std::string prior;  ///< name of the prior that the chances count in; empty without one
  std::vector<std::string> warnings;
  Provenance provenance;
};
template <>
struct Fields<Match> {
  static constexpr const char* name = "Match";
  static constexpr auto all() {
    return FieldList{
        needed("label", &Match::label, "of the reading"),
        needed("zone", &Match::zone, "of the reading"),
        needed("ranked", &Match::ranked, "tabs, nearest first"),
        field("indistinguishable", &Match::indistinguishable,
              "tabs whose chance of being the nearest is 5 % or more"),
        field("between", &Match::between,
              "a point between two tabs that is clearly nearer than any tab, or None"),
        field("picks_under", &Match::picks_under,
              "the pick under D65, A and LED-B3; empty without reflectance curves"),
        field("weights", &Match::weights, "parametric factors that were used"),
        field("prior", &Match::prior, "name of the prior that the chances count in, or empty"),
        field("warnings", &Match::warnings, "what to know before using it"),
        field("provenance", &Match::provenance, "how it was made")};
  }
};

/// What is known of teeth before one is read: normal about `mean`, and for one tooth in twenty four
/// times as wide, so that a reading far from it is believed. A zero covariance is no prior.
struct ToothPrior {
  std::string name;
  Lab mean{};
  Mat3 covariance{};

  friend bool operator==(const ToothPrior&, const ToothPrior&) = default;
};
template <>
struct Fields<ToothPrior> {
  static constexpr const char* name = "ToothPrior";
  static constexpr auto all() {
    return FieldList{
        needed("name", &ToothPrior::name, "of the population behind it"),
        needed("mean", &ToothPrior::mean, "of the teeth"),
        needed("covariance", &ToothPrior::covariance, "3×3, between teeth; zero: no prior")};
  }
};
/// The mean and covariance of the generated population (`generated_population`), under D65/2.
[[nodiscard]] ToothPrior generated_prior();

/// How tabs are ranked.
struct MatchOptions {
  DifferenceWeights weights;  ///< of CIEDE2000
  /// Where a reading is wide against what teeth look like, for instance a photo's, its colour is
  /// more likely on their side: without that a pick is said to be surer than it is. Small errors
  /// (an instrument's) change nothing.
  ToothPrior prior = generated_prior();
  std::size_t draws = 4096;  ///< of the low-discrepancy sample, 64–1 048 576
  std::uint64_t seed = 1;    ///< of the sample
  std::size_t keep = 0;      ///< how many of the nearest tabs to report; 0 for all
  std::size_t threads = 0;   ///< 0 for as many as the machine has; the result does not depend on it
};

/// Ranks the whole set for a reading. Chances and intervals come from a fixed sample of both
/// sides' errors: the reading's error is common to all tabs, the shared error of the set too, the
/// random error of each tab is its own; covariances with finite dof give Student's t. Intervals
/// are central 95 % intervals of ΔE00 given what was measured. A reading with fewer than 4 degrees
/// of freedom cannot show a covariance: its size is kept and the shape of the set's `new_reading`
/// taken. One without any uncertainty takes the set's `new_reading`, where the set has one, and a
/// warning says so. Throws ArgumentError when the
/// viewings differ, when `check_tab_set` does, or for a reading that is not finite or whose
/// covariance is not positive semi-definite.
[[nodiscard]] Match match(const Reading& reading, const TabSet& tabs,
                          const MatchOptions& options = {});

/// The uncertainty that `match` takes for a reading: its own, or the set's as said above.
[[nodiscard]] Measured<Lab> uncertainty_in(const Reading& reading, const TabSet& tabs);

/// The same for many readings at once, in their order; every match is the one `match` returns.
[[nodiscard]] std::vector<Match> match_all(std::span<const Reading> readings, const TabSet& tabs,
                                           const MatchOptions& options = {});

/// How the reading differs from the tab in the words of the trade, for instance
/// `lighter, more chromatic, redder`; `no visible difference` within the perceptibility threshold.
/// Parts below half of that threshold are left out. Hue words follow the way the hue turns, as in
/// ASTM D2244.
[[nodiscard]] std::string difference_in_words(const RankedTab& tab);
/// For instance `between flax and oat, nearer flax`.
[[nodiscard]] std::string between_in_words(const Between& between);

}  // namespace mamelon
