#pragma once
/// @file
/// From a target colour, a floor and a depth to layers and increments.

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "mamelon/difference.h"
#include "mamelon/progress.h"
#include "mamelon/reading.h"
#include "mamelon/stack.h"
#include "mamelon/transport.h"

namespace mamelon {

/// The order in which portions of paste go in (common practice knows all three).
enum class Placement {
  flat,        ///< level portions from the floor outward
  oblique,     ///< each portion as two wedges against opposite walls, cured one after the other
  wall_first,  ///< each portion along the walls first, then its core
};
[[nodiscard]] std::string_view to_string(Placement placement);
/// Throws ArgumentError naming the known ones.
[[nodiscard]] Placement placement_from_string(std::string_view text);

/// How a cavity is filled and cured.
struct Placing {
  Placement order = Placement::flat;
  /// A box with a neighbour: the contact wall is built first, in the outermost paste (common
  /// practice).
  bool contact_wall = false;
  double lamp_irradiance_mw_cm2 = 0;  ///< at the paste; 0 when unknown: no times are given
  /// Of the contact wall towards the neighbour, 0.3 to 3 mm; 1 is common practice.
  double contact_wall_width_mm = 1;
};

/// A prepared floor, with what is not known of it.
struct Floor {
  Reflectance reflectance;
  /// Independent errors of `reflectance`, each a curve of one standard deviation; at most 3.
  std::vector<Reflectance> errors;
  bool estimated = false;  ///< whether the curve was estimated from a colour
};
/// The floor of a reading on the pastes' grid: its curve where it has one, else the smoothest
/// reflectance of its colour. The errors are the columns of the Cholesky root of its covariance,
/// carried to reflectance by the same estimate. Throws ModelError where no reflectance has that
/// colour, ArgumentError for a grid outside `check_grid`.
[[nodiscard]] Floor floor_of(const Reading& reading, const Grid& grid);

/// What is asked of a plan. Everything is an argument; nothing is kept between calls.
struct PlanRequest {
  Reading target;
  PasteSet pastes{};
  /// Reflectance of the prepared floor as a spectrophotometer or camera sees it in air, on the
  /// pastes' grid.
  Reflectance floor{};
  /// Independent errors of the floor, as `Floor::errors`; at most 3.
  std::vector<Reflectance> floor_errors{};
  /// Refractive index of the floor, which turns its reflectance seen in air into the one the paste
  /// in contact sees; 1.54 is dentine (from memory).
  double floor_refractive_index = 1.54;
  bool specular_included = false;  ///< how the target and the floor were read
  double depth_mm = 0;             ///< in (0, 20]; planned to the nearest whole step
  /// Every layer is a whole number of these, in 0.01 to 0.5 mm; hands hold a tenth.
  double step_mm = 0.1;
  int max_layers = 2;              ///< 1, 2 or 3 pastes
  double thickness_sd_mm = 0.15;   ///< how well a layer's thickness is held by hand
  /// Whether the hand keeps the depth: the outermost layer takes up the errors of the others. Else
  /// every layer errs on its own.
  bool total_held = false;
  bool role_order = true;  ///< opaque, dentine, body, enamel, translucent from the floor out
  Placing placing{};
  /// For the prediction, beside the target's own; empty: D65, A and LED-B3.
  std::vector<Illuminant> illuminants{};
  /// Weights of `illuminants` in the objective, where the target's own light weighs 1; empty: all
  /// 0.
  std::vector<double> illuminant_weights{};
  DifferenceWeights weights{};
  std::size_t alternatives = 5;  ///< plans that differ in a paste, per number of layers
  /// Stacks whose pastes all carry transport constants are searched and predicted by that engine,
  /// the others by two fluxes as a whole; false: two fluxes for all.
  bool rank_by_transport = true;
};

struct PlannedLayer {
  std::string paste;
  Role role = Role::body;
  double thickness_mm = 0;
  double de00_per_0_1_mm = 0;  ///< change of ΔE00 vector length per 0.1 mm of this layer
  bool extrapolated = false;   ///< outside the thicknesses the paste's constants were fitted to
};

/// Which part of its layer a portion is.
enum class Portion { level, first_wedge, second_wedge, walls, core, contact_wall };
[[nodiscard]] std::string_view to_string(Portion portion);

/// One portion of paste, cured before the next goes on.
struct Increment {
  int order = 1;
  std::string paste;
  double thickness_mm = 0;  ///< along the light; of a contact wall its height
  double exposure_j_cm2 = 0;
  std::optional<double> exposure_s;  ///< whole seconds, where the lamp's irradiance was given
  Portion portion = Portion::level;
  /// Share of its slice of the layer: 1, of a wedge or of walls and core ½, of a contact wall 0.
  double share = 1;
  /// Share of light at 460 nm that reaches its underside.
  double blue_share = 0;
  /// Whether `blue_share` is of the constants at 460 nm; else Beer–Lambert from the nearest band.
  bool blue_measured = false;
  bool contour = false;  ///< the last one: finished to contour before it is cured
};

struct PredictedColour {
  Viewing viewing;
  Lab lab;
  Lab target;
  double de00 = 0;
};

/// The wall towards the neighbour, in the outermost paste from the floor to the surface.
struct ContactWall {
  std::string paste;
  double height_mm = 0;
  double width_mm = 0;
  /// Seen along the light over the wall: its paste at full height on the floor, as if it were wide.
  /// A wall of a millimetre loses light to its sides, which is not predicted.
  PredictedColour in_front;
};

struct Plan {
  std::vector<PlannedLayer> layers;   ///< from the floor outward
  std::vector<Increment> increments;  ///< in the order they are placed
  std::vector<PredictedColour> predicted;
  Reflectance reflectance;
  double de00 = 0;           ///< under the target's own viewing, thickness as planned
  /// Root mean square over the errors of thickness, target, floor and pastes, and over the lights
  /// with their weights.
  double de00_expected = 0;
  double de00_p95 = 0;  ///< 95 of 100 such fillings come nearer, under the target's own light
  double metamerism = 0;  ///< largest ΔE00 under the other illuminants less that under the first
  Engine engine = Engine::kubelka_munk;  ///< of every colour here
  /// Whether the two above are of whole stacks drawn at random, because the colour bends too much
  /// within the error of a thickness; else of first order.
  bool sampled = false;
  double de00_confirmed = 0;  ///< `de00` by transport of 8 streams; by two fluxes `de00` itself
  std::optional<ContactWall> contact_wall;
};

/// What plans of so many layers come to.
struct LayerGain {
  int layers = 1;
  double de00_expected = 0;  ///< of the best of them
  double gain_de00 = 0;      ///< less than the best of one layer fewer
};

/// Two plans alike under the target's light, expected within a tenth of the perceptibility
/// threshold, that part visibly under another.
struct PartingTie {
  std::size_t nearer = 0;   ///< index into `PlanSet::plans`
  std::size_t farther = 0;  ///< the same
  Viewing viewing;
  double apart_de00 = 0;
};

/// Why no allowed plan is acceptable.
struct OutOfReach {
  double de00 = 0;     ///< of the plan recommended
  std::string reason;  ///< what stands in the way, and what would help
};

struct PlanSet {
  std::vector<Plan> plans;  ///< best first within each number of layers, fewest layers first
  std::size_t recommended = 0;
  std::string why;
  double second_layer_gain_de00 = 0;  ///< expected ΔE00 of the best single layer less the best pair
  std::vector<std::string> warnings;
  Provenance provenance;
  std::vector<LayerGain> gains;  ///< by number of layers, where some plan has it
  std::vector<PartingTie> ties;
  std::optional<OutOfReach> out_of_reach;
};

/// Searches all ordered stacks of up to `max_layers` pastes whose thicknesses, whole steps, add up
/// to the depth. The goal is the root mean square of ΔE00 over the errors of thickness, target,
/// floor and pastes, at first order: √(ΔE00² + Σ σᵢ² gᵢᵀ G gᵢ + …), with gᵢ the change of colour
/// with error i and G the metric of ΔE00 at the target. Of more than 64 pastes, stacks of three are
/// made of the 64 that come nearest in stacks of two.
/// Recommended are the fewest layers of which some plan is acceptable, and one more only for a gain
/// that is visible; where none is acceptable, `PlanSet::out_of_reach` says why.
/// `progress` is asked every few milliseconds; when it returns false, StoppedError is thrown.
/// Throws ArgumentError for a depth, step, limits, weights or grids out of range, and
/// ModelError for a depth above 20 mm, one that no allowed stack fills, or a floor that reads below
/// its own surface reflection.
[[nodiscard]] PlanSet plan(const PlanRequest& request, const Progress& progress = {});

/// What a given stack comes to: `layers` from the floor outward, of which `paste` and
/// `thickness_mm` are read, in place of a search; the thicknesses need not be whole steps nor add
/// up to the depth. Takes under 2 ms. Throws as `plan` does, and ArgumentError for no layer, a
/// paste that the set lacks or a thickness that is not above 0.
[[nodiscard]] Plan predict_plan(const PlanRequest& request, std::span<const PlannedLayer> layers);

/// The same pastes in other zones of a tooth, each with its own thicknesses: the best of that
/// sequence (from the floor outward) for every reading. `depths_mm` has one depth a reading, or is
/// empty for the request's. Throws ArgumentError for a paste that the set lacks or sizes that
/// differ, ModelError where the pastes' limits do not fill a depth, and as `plan` does.
[[nodiscard]] std::vector<Plan> plan_zones(const PlanRequest& request,
                                           std::span<const std::string> pastes,
                                           std::span<const Reading> readings,
                                           std::span<const double> depths_mm = {});

/// One filling of uneven depth: the same pastes everywhere, chosen for all depths together.
struct DepthPlans {
  std::vector<Plan> plans;             ///< one a depth, in their order
  std::vector<std::string> pastes;     ///< from the floor outward
  double de00_expected = 0;            ///< root mean square over the depths
  std::vector<std::string> differences;  ///< what the steps at each further depth have otherwise
  std::string why;
  std::vector<std::string> warnings;
  Provenance provenance;
};

/// Plans two or three depths of one cavity (cusp and fossa) with the same pastes. Recommended as by
/// `plan`, acceptable meaning acceptable at every depth. Throws ArgumentError for fewer than two or
/// more than three depths, and as `plan` does.
[[nodiscard]] DepthPlans plan_depths(const PlanRequest& request, std::span<const double> depths_mm,
                                     const Progress& progress = {});

/// Cuts one layer into portions no thicker than the paste's limit, floor first, in the order that
/// `placing` says; a contact wall is none of them. A thickness of whole tenths of a millimetre is
/// cut into whole tenths, as even as they go, any other into equal parts. Exposure time is the
/// paste's radiant exposure over the irradiance at it, rounded up to whole seconds. Throws
/// ArgumentError for a thickness that is not above 0 and a paste that `check_paste` refuses for its
/// limit or exposure.
[[nodiscard]] std::vector<Increment> increments_of(const Paste& paste, double thickness_mm,
                                                   const Placing& placing, int first_order);

/// The portions of all layers, from the floor outward, after the contact wall where there is one;
/// the last is finished to contour. The wall goes up in the outermost paste, in portions no higher
/// than that paste's limit.
[[nodiscard]] std::vector<Increment> increments_of(std::span<const Layer> layers,
                                                   const Placing& placing);

}  // namespace mamelon
