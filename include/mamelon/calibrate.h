#pragma once
/// @file
/// From repeat readings of the user's own tabs to a tab set that knows its uncertainty.

#include <array>
#include <cstddef>
#include <limits>
#include <span>
#include <string>
#include <vector>

#include "mamelon/description.h"
#include "mamelon/tabs.h"

namespace mamelon {

/// One reading of one tab (`reading.label` is the tab's name) and the circumstances under which it
/// was taken. An empty string means that the circumstance was not noted.
struct RepeatReading {
  Reading reading;
  std::string operator_name;
  std::string day;
  std::string instrument;
  std::size_t row = 0;
};
template <>
struct Fields<RepeatReading> {
  static constexpr const char* name = "RepeatReading";
  static RepeatReading blank() {
    return {.reading = mamelon::blank<Reading>(), .operator_name = {}, .day = {}, .instrument = {}};
  }
  static constexpr auto all() {
    using T = RepeatReading;
    return FieldList{needed("reading", &T::reading, "its label is the tab's name"),
                     field("operator_name", &T::operator_name, "who read; empty when not noted"),
                     field("day", &T::day, "when; empty when not noted"),
                     field("instrument", &T::instrument, "with what; empty when not noted"),
                     field("row", &T::row, "where it stands in the user's table, for reports")};
  }
};

/// How a set is calibrated.
struct CalibrationOptions {
  std::string name;  ///< of the tab set
  /// Chance that a sound reading is taken for a gross error, in (0, 0.05]: of normal readings, in
  /// any number and design. Readings with heavy tails (Student's t on 5) lose up to 1 in 100.
  double gross_error_chance = 0.0005;
  /// Standard deviations of one reading in L*, a*, b* where nothing was read twice. The value is
  /// that of a mean difference of ΔE*ab 1.25 between repeats, as reported for tabs in vitro.
  Vec3 unrepeated_sd{0.55, 0.55, 0.55};
};

/// A reading that was left out of the means.
struct SetAside {
  std::size_t row = 0;
  std::string tab;
  Lab lab{};
  double distance = 0;
  double de00 = 0;
  /// Chance that it is a gross error after all, 0–1: its weight in the tab's mean is the rest, and
  /// the tab's interval covers either case.
  double chance_gross = 1;
  std::string reason;
};
template <>
struct Fields<SetAside> {
  static constexpr const char* name = "SetAside";
  static constexpr auto all() {
    using T = SetAside;
    return FieldList{
        needed("row", &T::row, "where it stands in the user's table"),
        needed("tab", &T::tab, "name of the tab"),
        needed("lab", &T::lab, "as read"),
        field("distance", &T::distance, "root of T² against all other readings"),
        field("de00", &T::de00, "from what the tab's other readings lead to expect"),
        field("chance_gross", &T::chance_gross, "that it is a gross error after all, 0–1"),
        field("reason", &T::reason, "why it was left out")};
  }
};

/// One part of the variance of a reading.
struct VariancePart {
  std::string source;
  std::size_t levels = 0;
  double dof = 0;
  Mat3 covariance{};
  /// Mean square ΔE00 due to this part, unbiased: below 0 where none was seen. 95 % interval.
  double variance = 0;
  double variance_low = 0;
  double variance_high = 0;
  double sd_de00 = 0;
  std::string note;
};
template <>
struct Fields<VariancePart> {
  static constexpr const char* name = "VariancePart";
  static constexpr auto all() {
    using T = VariancePart;
    return FieldList{
        needed("source", &T::source, "repeat, placement, day, operator or instrument"),
        field("levels", &T::levels, "days, operators, …; for repeat the readings"),
        field("dof", &T::dof, "degrees of freedom"),
        field("covariance", &T::covariance, "3×3, unbiased: a small part may be indefinite"),
        field("variance", &T::variance, "mean square ΔE00 due to this part, unbiased"),
        field("variance_low", &T::variance_low, "lower end of its 95 % interval"),
        field("variance_high", &T::variance_high, "upper end of its 95 % interval"),
        field("sd_de00", &T::sd_de00, "root of the variance, 0 where that is negative"),
        field("note", &T::note,
              "what the part could not be told from; empty where it stands alone")};
  }
};

/// What is known of one tab beside its colour.
struct TabRecord {
  std::string tab;
  std::size_t count = 0;
  std::size_t used = 0;
  double mcdm_de00 = 0;
  double mcdm_de76 = 0;
  Vec3 low{};
  Vec3 high{};
  bool no_repeatability = false;
  bool repeats_worse = false;
};
template <>
struct Fields<TabRecord> {
  static constexpr const char* name = "TabRecord";
  static constexpr auto all() {
    using T = TabRecord;
    return FieldList{
        needed("tab", &T::tab, "name of the tab"),
        field("count", &T::count, "readings given"),
        field("used", &T::used, "readings that went into the mean"),
        field("mcdm_de00", &T::mcdm_de00,
              "mean colour difference from the mean (ASTM E2214) of those used"),
        field("mcdm_de76", &T::mcdm_de76, "the same in ΔE*ab"),
        field("low", &T::low, "lower end of the 95 % interval of the mean in L*, a*, b*"),
        field("high", &T::high, "upper end of the 95 % interval of the mean"),
        field("no_repeatability", &T::no_repeatability,
              "read once: its interval rests on the other tabs or on a prior"),
        field("repeats_worse", &T::repeats_worse,
              "repeats worse than the other tabs and keeps its own covariance")};
  }
};

/// A tab set made from repeat readings, and what they told.
struct Calibration {
  TabSet tabs;
  std::vector<TabRecord> records;
  std::vector<SetAside> set_aside;
  std::vector<VariancePart> parts;
  /// Covariance of one new reading by the same means, on another day, by another operator and
  /// instrument, and the degrees of freedom behind it: what a `Reading` may state as its `random`.
  Mat3 new_reading{};
  double new_reading_dof = std::numeric_limits<double>::infinity();
  std::vector<std::string> warnings;
};
template <>
struct Fields<Calibration> {
  static constexpr const char* name = "Calibration";
  static Calibration blank() {
    return {.tabs = mamelon::blank<TabSet>(),
            .records = {},
            .set_aside = {},
            .parts = {},
            .warnings = {}};
  }
  static constexpr auto all() {
    using T = Calibration;
    return FieldList{needed("tabs", &T::tabs, "the set, in order of first appearance"),
                     field("records", &T::records, "what is known of each tab beside its colour"),
                     field("set_aside", &T::set_aside, "readings left out of the means"),
                     field("parts", &T::parts, "of the variance of a reading"),
                     field("new_reading", &T::new_reading,
                           "3×3 covariance of one new reading by the same means, for its `random`"),
                     field("new_reading_dof", &T::new_reading_dof, "degrees of freedom behind it"),
                     field("warnings", &T::warnings, "what to know before using it")};
  }
};

/// Robust mean, random and shared covariance of every tab.
///
/// Model: reading = tab + day + operator + instrument + repeat, the last four random, the middle
/// three common to all tabs read under them. Gross errors are found by the T² of deletion residuals
/// over one covariance of all tabs, several at once by the generalised extreme deviate (Rosner
/// 1983, Technometrics 25:165), and set aside, listed, never dropped without a word. Where a tab's
/// readings disagree and none can be told wrong, a warning says so and its interval covers all of
/// them. Means are
/// least-squares means with every day, operator and instrument weighing the same; variance parts
/// are those of the multivariate analysis of variance by fitting constants (Henderson 1953,
/// Biometrics 9:226, method 3). The covariance of the repeats is pooled over tabs unless a tab
/// repeats significantly worse.
///
/// Where every day has one operator (or one instrument), days and operators have parts of their
/// own: that of the operators stands on few degrees of freedom, one for two of them. So that the
/// intervals of the means need not reach over 12.7 estimated standard deviations, operators are
/// taken to differ in L*, a* and b* in much the same proportions as days do, the more so the fewer
/// they are, and a warning says so. Where two operators differ in one coordinate only, by as much
/// as the days or more, its 95 % intervals hold too little.
///
/// Throws ArgumentError for no reading, mixed viewings, an empty label, a colour that is not finite
/// or options out of range.
[[nodiscard]] Calibration calibrate(std::span<const RepeatReading> readings,
                                    const CalibrationOptions& options = {});

/// Mean colour difference from the mean of a set of readings (ASTM E2214), as CIEDE2000 and as
/// ΔE*ab. Throws ArgumentError for an empty set.
struct Mcdm {
  double de00 = 0;
  double de76 = 0;
};
template <>
struct Fields<Mcdm> {
  static constexpr const char* name = "Mcdm";
  static constexpr auto all() {
    return FieldList{needed("de00", &Mcdm::de00, "in CIEDE2000"),
                     needed("de76", &Mcdm::de76, "in ΔE*ab")};
  }
};
/// Mean colour difference from the mean of readings (ASTM E2214); ArgumentError for none.
[[nodiscard]] Mcdm mcdm(std::span<const Lab> readings);

}  // namespace mamelon
