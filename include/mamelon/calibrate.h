#pragma once
/// @file
/// From repeat readings of the user's own tabs to a tab set that knows its uncertainty.

#include <array>
#include <cstddef>
#include <limits>
#include <span>
#include <string>
#include <vector>

#include "mamelon/tabs.h"

namespace mamelon {

/// One reading of one tab (`reading.label` is the tab's name) and the circumstances under which it
/// was taken. An empty string means that the circumstance was not noted.
struct RepeatReading {
  Reading reading;
  std::string operator_name;
  std::string day;
  std::string instrument;
  std::size_t row = 0;  ///< where it stands in the user's table, for reports
};

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
  double distance = 0;  ///< root of T² of the reading against all others
  double de00 = 0;      ///< from what the tab's other readings lead to expect
  /// Chance that it is a gross error after all, 0–1: its weight in the tab's mean is the rest, and
  /// the tab's interval covers either case.
  double chance_gross = 1;
  std::string reason;
};

/// One part of the variance of a reading.
struct VariancePart {
  std::string source;      ///< `repeat`, `placement`, `day`, `operator`, `instrument`
  std::size_t levels = 0;  ///< days, operators, …; for `repeat` the readings
  double dof = 0;
  Mat3 covariance{};  ///< unbiased, so that a small part may come out indefinite
  /// Mean square ΔE00 due to this part, unbiased: below 0 where none was seen. 95 % interval.
  double variance = 0;
  double variance_low = 0;
  double variance_high = 0;
  double sd_de00 = 0;  ///< √variance, 0 where the variance is negative
  std::string note;    ///< what the part could not be told from; empty where it stands alone
};

/// What is known of one tab beside its colour.
struct TabRecord {
  std::string tab;
  std::size_t count = 0;  ///< readings given
  std::size_t used = 0;   ///< readings that went into the mean
  double mcdm_de00 = 0;   ///< mean colour difference from the mean (ASTM E2214) of those used
  double mcdm_de76 = 0;
  Vec3 low{};  ///< 95 % interval of the mean in L*, a*, b*, shared error included
  Vec3 high{};
  bool no_repeatability = false;  ///< read once: its interval rests on the other tabs or on a prior
  bool repeats_worse = false;  ///< repeats worse than the other tabs and keeps its own covariance
};

struct Calibration {
  TabSet tabs;  ///< in order of first appearance
  std::vector<TabRecord> records;
  std::vector<SetAside> set_aside;
  std::vector<VariancePart> parts;
  /// Covariance of one new reading by the same means, on another day, by another operator and
  /// instrument, and the degrees of freedom behind it: what a `Reading` may state as its `random`.
  Mat3 new_reading{};
  double new_reading_dof = std::numeric_limits<double>::infinity();
  std::vector<std::string> warnings;
};

/// Robust mean, random and shared covariance of every tab.
///
/// Model: reading = tab + day + operator + instrument + repeat, the last four random, the middle
/// three common to all tabs read under them. Gross errors are found by the T² of deletion residuals
/// over one covariance of all tabs, several at once by the generalised extreme deviate (Rosner 1983,
/// Technometrics 25:165), and set aside, listed, never dropped without a word. Where a tab's
/// readings disagree and none can be told wrong, a warning says so and its interval covers all of
/// them. Means are
/// least-squares means with every day, operator and instrument weighing the same; variance parts
/// are those of the multivariate analysis of variance by fitting constants (Henderson 1953,
/// Biometrics 9:226, method 3). The covariance of the repeats is pooled over tabs unless a tab
/// repeats significantly worse.
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
[[nodiscard]] Mcdm mcdm(std::span<const Lab> readings);

}  // namespace mamelon
