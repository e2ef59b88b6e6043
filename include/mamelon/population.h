#pragma once
/// @file
/// A sample of teeth to hold a tab set against.

#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "mamelon/reading.h"

namespace mamelon {

struct Population {
  std::string name;
  std::vector<Lab> teeth;
  Viewing viewing;
  bool generated = false;  ///< not measured: drawn from published means and ranges
  std::string note;        ///< what it rests on, to be shown beside every figure taken from it
};

/// The user's own teeth. Throws ArgumentError for no reading or mixed viewings.
[[nodiscard]] Population population_of(std::string name, std::span<const Reading> readings);
/// The same of colours alone, all under `viewing`.
[[nodiscard]] Population population_of(std::string name, std::vector<Lab> teeth,
                                       const Viewing& viewing);

/// A generated sample: natural anterior teeth by thirds, normal about published means, cut at the
/// published clinical envelope. It is a stand-in for readings of one's own: absolute tooth colours
/// differ by up to 10 L* between kinds of instrument. The published figures are for D65 or C and
/// the 2° observer; under any other viewing `note` says that they are taken over as they are.
[[nodiscard]] Population generated_population(const Viewing& viewing, std::size_t count = 1000,
                                              std::uint64_t seed = 1);

}  // namespace mamelon
