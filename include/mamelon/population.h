#pragma once
/// @file
/// A sample of teeth to hold a tab set against.

#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "mamelon/description.h"
#include "mamelon/match.h"

namespace mamelon {

/// Teeth that a set is held against.
struct Population {
  std::string name;
  std::vector<Lab> teeth;
  Viewing viewing;
  /// Covariance of one reading's own error, which is no difference between teeth: `audit` takes it
  /// out of the coverage error. Zero where it is not known.
  Mat3 reading_error{};
  bool generated = false;
  std::string note;
};
template <>
struct Fields<Population> {
  static constexpr const char* name = "Population";
  static Population blank() {
    return {.name = {},
            .teeth = {},
            .viewing = mamelon::blank<Viewing>(),
            .reading_error = {},
            .generated = false,
            .note = {}};
  }
  static constexpr auto all() {
    using T = Population;
    return FieldList{
        needed("name", &T::name, "of the sample"),
        needed("teeth", &T::teeth, "their colours"),
        needed("viewing", &T::viewing, "of the colours"),
        field("reading_error", &T::reading_error,
              "covariance of one reading's own error, taken out of the coverage error"),
        field("generated", &T::generated, "True when drawn from published means and ranges"),
        field("note", &T::note, "what it rests on, to be shown beside every figure taken from it")};
  }
};

/// The user's own teeth; `reading_error` is the mean of the readings' random covariances. Throws
/// ArgumentError for no reading or mixed viewings.
[[nodiscard]] Population population_of(std::string name, std::span<const Reading> readings);
/// The same of colours alone, all under `viewing`.
[[nodiscard]] Population population_of(std::string name, std::vector<Lab> teeth,
                                       const Viewing& viewing);

/// The prior for matching that this population gives. Throws ArgumentError for fewer than 10 teeth.
[[nodiscard]] ToothPrior prior_of(const Population& population);

/// A generated sample: natural anterior teeth by thirds, normal about published means, cut at the
/// published clinical envelope. It is a stand-in for readings of one's own: absolute tooth colours
/// differ by up to 10 L* between kinds of instrument. The published figures are for D65 or C and
/// the 2° observer; under any other viewing `note` says that they are taken over as they are.
[[nodiscard]] Population generated_population(const Viewing& viewing, std::size_t count = 1000,
                                              std::uint64_t seed = 1);

}  // namespace mamelon
