#pragma once
/// @file
/// Optical constants of a paste from drawdowns: flat specimens measured over known backings.

#include <span>
#include <string>
#include <vector>

#include "mamelon/paste.h"
#include "mamelon/stack.h"

namespace mamelon {

/// How a reflectance was read. Left unstated it is an error, not a guess: the choices differ by
/// several per cent.
enum class Geometry { unstated, diffuse_8_excluded, diffuse_8_included, angle_45_0 };

/// What the backing's reflectance means and how the specimen lies on it.
enum class Backing {
  unstated,
  internal,     ///< in optical contact, reflectance as seen from inside the paste
  seen_in_air,  ///< in optical contact, reflectance as an instrument reads the bare backing
  air_gap,      ///< under a film of air, reflectance as an instrument reads the bare backing
};

/// One reading of one specimen over one backing.
struct Drawdown {
  std::string specimen;  ///< readings of one specimen share its error of thickness
  double thickness_mm = 0;
  double thickness_sd_mm = 0.02;
  Geometry geometry = Geometry::unstated;
  Backing contact = Backing::unstated;
  Reflectance backing{};
  Reflectance measured{};
  double reflectance_sd = 0.002;  ///< repeat noise of `measured`
};

struct PasteFitOptions {
  double refractive_index = 1.5;
  double scattering_bend_sd = 1e-3;  ///< of the second difference of ln S per 10 nm
  double absorption_bend_sd = 0.05;  ///< of the second difference of ln K per 10 nm
  double model_sd = 0;               ///< of a reflectance, added to the repeat noise
};

struct SpecimenThickness {
  std::string specimen;
  double thickness_mm = 0;  ///< as fitted
  double sd_mm = 0;
};

/// Kubelka–Munk constants with what is known of them.
struct PasteFit {
  PerMm absorption;
  PerMm scattering;
  std::vector<double> ln_absorption_sd;
  std::vector<double> ln_scattering_sd;
  std::vector<SpecimenThickness> thickness;
  std::vector<Reflectance> residual;  ///< measured less fitted, one a drawdown
  double chi_square = 0;
  double residual_rms = 0;
  std::vector<std::string> warnings;
};

/// Maximum a posteriori over all bands at once: reflectance noise, stated thickness errors as
/// unknowns, and smoothness of ln K and ln S (Gauss–Newton with Marquardt's damping). Throws
/// ArgumentError for fewer than two readings or backings, unequal grids, an unstated geometry or
/// backing, a thickness, index or sd out of range, or a specimen that reads darker over the lighter
/// backing; ModelError when the fit does not settle.
[[nodiscard]] PasteFit fit_paste(std::span<const Drawdown> drawdowns,
                                 const PasteFitOptions& options = {});

}  // namespace mamelon
