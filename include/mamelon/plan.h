#pragma once
/// @file
/// From a target colour, a floor and a depth to layers and increments.

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "mamelon/difference.h"
#include "mamelon/reading.h"
#include "mamelon/stack.h"

namespace mamelon {

/// What is asked of a plan. Everything is an argument; nothing is kept between calls.
struct PlanRequest {
  Reading target;
  PasteSet pastes{};
  /// Reflectance of the prepared floor as a spectrophotometer or camera sees it in air, on the
  /// pastes' grid.
  Reflectance floor{};
  /// Refractive index of the floor, which turns its reflectance seen in air into the one the paste
  /// in contact sees; 1.54 is dentine (from memory).
  double floor_refractive_index = 1.54;
  bool specular_included = false;  ///< how the target and the floor were read
  double depth_mm = 0;             ///< in (0, 20]
  int max_layers = 2;              ///< 1, 2 or 3 pastes
  double thickness_sd_mm = 0.15;   ///< how well a layer's thickness is held by hand
  bool role_order = true;  ///< opaque, dentine, body, enamel, translucent from the floor out
  double lamp_irradiance_mw_cm2 = 0;  ///< at the paste; 0 when unknown: no times are given
  /// For the prediction, beside the target's own; empty: D65, A and LED-B3.
  std::vector<Illuminant> illuminants{};
  /// Weights of `illuminants` in the objective, where the target's own light weighs 1; empty: all
  /// 0.
  std::vector<double> illuminant_weights{};
  DifferenceWeights weights{};
  /// Whether the answer comes with a bound that proves it best within 0.01; without, the search is
  /// quicker and `PlanSet::bound` is 0.
  bool certify = true;
  std::size_t alternatives = 5;  ///< plans that differ in a paste, per number of layers
};

struct PlannedLayer {
  std::string paste;
  Role role = Role::body;
  double thickness_mm = 0;
  double de00_per_0_1_mm = 0;  ///< change of ΔE00 vector length per 0.1 mm of this layer
};

/// One portion of paste, cured before the next goes on.
struct Increment {
  int order = 1;
  std::string paste;
  double thickness_mm = 0;
  double exposure_j_cm2 = 0;
  std::optional<double> exposure_s;  ///< where the lamp's irradiance was given
};

struct PredictedColour {
  Viewing viewing;
  Lab lab;
  Lab target;
  double de00 = 0;
};

struct Plan {
  std::vector<PlannedLayer> layers;   ///< from the floor outward
  std::vector<Increment> increments;  ///< in the order they are placed
  std::vector<PredictedColour> predicted;
  Reflectance reflectance;
  double de00 = 0;           ///< under the target's own viewing, thickness as planned
  double de00_expected = 0;  ///< rms over the error of thickness, target and pastes
  double de00_p95 = 0;
  double metamerism = 0;  ///< largest ΔE00 under the other illuminants less that under the first
};

struct PlanSet {
  std::vector<Plan> plans;  ///< best first within each number of layers, fewest layers first
  std::size_t recommended = 0;
  std::string why;
  double second_layer_gain_de00 = 0;  ///< expected ΔE00 of the best single layer less the best pair
  double bound = 0;  ///< no allowed plan has a lower expected ΔE00; 0 when no certificate was asked
  std::vector<std::string> warnings;
  Provenance provenance;
};

/// Searches all ordered stacks of up to `max_layers` pastes whose thicknesses add up to the depth.
/// The goal is the root mean square of ΔE00 over the errors of thickness (independent from layer to
/// layer), of the target and of the pastes, at first order: √(ΔE00² + Σ σᵢ² gᵢᵀ G gᵢ + …), with gᵢ
/// the gradient of the colour and G the metric of ΔE00 at the target.
/// Throws ArgumentError for a depth, limits, weights or grids out of range, and
/// ModelError for a depth above 20 mm, one that no allowed stack fills, or a floor that reads below
/// its own surface reflection.
[[nodiscard]] PlanSet plan(const PlanRequest& request);

/// Cuts one layer into increments no thicker than the paste's limit, floor first, of equal
/// thickness.
[[nodiscard]] std::vector<Increment> increments_of(const Paste& paste, double thickness_mm,
                                                   double lamp_irradiance_mw_cm2, int first_order);

}  // namespace mamelon
