#pragma once
/// @file
/// The one value that every measurement ends in and every decision starts from.

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "mamelon/colour.h"
#include "mamelon/measured.h"
#include "mamelon/provenance.h"
#include "mamelon/spectrum.h"
#include "mamelon/viewing.h"

namespace mamelon {

/// The colour of one thing (a tooth zone, a tab, a specimen), from a camera or an instrument.
struct Reading {
  std::string label;
  std::string zone;  ///< `cervical`, `middle`, `incisal`, … ; empty for a whole specimen
  Measured<Lab> lab;
  std::optional<Reflectance> curve;  ///< the reflectance, where the source measured one
  Viewing viewing;
  std::size_t count = 1;  ///< repeat readings (instrument) or pixels (camera) behind the value
  std::vector<std::string> warnings;
  Provenance provenance;
};

/// One reading from repeats of the same thing: mean of the values, sample covariance / n as the
/// random part, the largest shared part. A single repeat keeps its own covariance and dof 0.
/// Throws ArgumentError for an empty span or mixed viewings.
[[nodiscard]] Reading combine(std::span<const Reading> repeats);

/// The reading of a reflectance under a viewing, with no stated uncertainty.
[[nodiscard]] Reading read_spectrum(std::string label, const Reflectance& reflectance,
                                    const Viewing& viewing);

/// The smoothest physically plausible reflectance (0–1) with this colour: least sum of squared
/// second differences. Throws ModelError when no reflectance within [0.001, 0.999] reaches the
/// colour within ΔE*ab 0.01.
[[nodiscard]] Reflectance estimate_reflectance(const Lab& lab, const Viewing& viewing,
                                               const Grid& grid);

}  // namespace mamelon
