#pragma once
/// @file
/// A sample of teeth to hold a tab set against.

#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "mamelon/match.h"

namespace mamelon {

struct Population {
  std::string name;
  std::vector<Lab> teeth;
  Viewing viewing;
  /// Covariance of one reading's own error, which is no difference between teeth: `audit` takes it
  /// out of the coverage error. Zero where it is not known.
  Mat3 reading_error{};
  bool generated = false;  ///< not measured: drawn from published means and ranges
  std::string note;        ///< what it rests on, to be shown beside every figure taken from it
};

/// The user's own teeth; `reading_error` is the mean of the readings' random covariances. Throws ArgumentError for no reading or mixed viewings.
[[nodiscard]] Population population_of(std::string name, std::span<const Reading> readings);

/// The prior for matching that this population gives. Throws ArgumentError for fewer than 10 teeth.
[[nodiscard]] ToothPrior prior_of(const Population& population);

/// A generated sample: natural anterior teeth by thirds, normal about published means, cut at the
/// published clinical envelope. It is a stand-in for readings of one's own: absolute tooth colours
/// differ by up to 10 L* between kinds of instrument. The published figures are for D65 or C and
/// the 2° observer; under any other viewing `note` says that they are taken over as they are.
[[nodiscard]] Population generated_population(const Viewing& viewing, std::size_t count = 1000,
                                              std::uint64_t seed = 1);

}  // namespace mamelon
