#pragma once
/// @file
/// From a target colour, a floor and a depth to layers and increments.

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "mamelon/description.h"
#include "mamelon/difference.h"
#include "mamelon/limits.h"
#include "mamelon/progress.h"
#include "mamelon/reading.h"
#include "mamelon/stack.h"
#include "mamelon/transport.h"

namespace mamelon {

/// The order in which portions of paste go in (common practice knows all three).
enum class PlacingOrder {
  flat,        ///< level portions from the floor outward
  oblique,     ///< each portion as two wedges against opposite walls, cured one after the other
  wall_first,  ///< each portion along the walls first, then its core
};
template <>
struct Words<PlacingOrder> {
  static constexpr const char* name = "PlacingOrder";
  static constexpr auto words = words_of("flat", "oblique", "wall_first");
};

/// How a cavity is filled and cured.
struct Placing {
  PlacingOrder order = PlacingOrder::flat;
  /// A box with a neighbour: the contact wall is built first, in the outermost paste (common
  /// practice).
  bool contact_wall = false;
  std::optional<double> lamp_irradiance_mw_cm2{};
  /// Of the contact wall towards the neighbour, 0.3 to 3 mm; 1 is common practice.
  double contact_wall_width_mm = 1;
};
template <>
struct Fields<Placing> {
  static constexpr const char* name = "Placing";
  static constexpr auto all() {
    return FieldList{field("order", &Placing::order, "flat, oblique or wall_first"),
                     field("contact_wall", &Placing::contact_wall,
                           "True: a box with a neighbour, whose contact wall is built first"),
                     field("lamp_irradiance_mw_cm2", &Placing::lamp_irradiance_mw_cm2,
                           "at the paste; none where it is unknown: no times are given")
                         .in("mW/cm²")
                         .range(100, 5000),
                     field("contact_wall_width_mm", &Placing::contact_wall_width_mm,
                           "of the contact wall; 1 mm is common practice")
                         .in("mm")
                         .range(0.3, 3)};
  }
};

/// A prepared floor, with what is not known of it.
struct Floor {
  Reflectance reflectance;
  /// Independent errors of `reflectance`, each a curve of one standard deviation; at most 3.
  std::vector<Reflectance> errors;
  bool estimated = false;
  Provenance provenance{};
};
template <>
struct Fields<Floor> {
  static constexpr const char* name = "Floor";
  static constexpr auto all() {
    return FieldList{
        needed("reflectance", &Floor::reflectance, "as seen in air"),
        field("errors", &Floor::errors, "independent, each a curve of one standard deviation"),
        field("estimated", &Floor::estimated, "whether the curve was estimated from a colour"),
        field("provenance", &Floor::provenance, "how it was made")};
  }
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
  /// What stands for both in the plan's own provenance; empty: their values.
  Provenance floor_provenance{};
  /// Refractive index of the floor, which turns its reflectance seen in air into the one the paste
  /// in contact sees; 1.54 is dentine (from memory).
  double floor_refractive_index = 1.54;
  bool specular_included = false;
  double depth_mm = 0;
  /// Every layer is a whole number of these, in 0.01 to 0.5 mm; hands hold a tenth.
  double step_mm = 0.1;
  int max_layers = 2;
  double thickness_sd_mm = 0.15;
  /// Whether the hand keeps the depth: the outermost layer takes up the errors of the others. Else
  /// every layer errs on its own.
  bool total_held = false;
  bool role_order = true;
  Placing placing{};
  /// For the prediction, beside the target's own; empty: D65, A and LED-B3.
  std::vector<Illuminant> illuminants{};
  /// Weights of `illuminants` in the objective, where the target's own light weighs 1; empty: all
  /// 0.
  std::vector<double> illuminant_weights{};
  DifferenceWeights weights{};
  std::size_t alternatives = 5;
  /// Stacks whose pastes all carry transport constants are searched and predicted by that engine,
  /// the others by two fluxes as a whole; false: two fluxes for all.
  bool rank_by_transport = true;
};
template <>
struct Fields<PlanRequest> {
  static constexpr const char* name = "PlanRequest";
  static PlanRequest blank() {
    PlanRequest request{.target = mamelon::blank<Reading>()};
    return request;
  }
  static constexpr auto all() {
    using T = PlanRequest;
    return FieldList{
        needed("target", &T::target, "the colour to reach"),
        needed("pastes", &T::pastes, "what there is to place"),
        needed("floor", &T::floor, "reflectance of the prepared floor as seen in air"),
        needed("depth_mm", &T::depth_mm, "in (0, 20]; planned to the nearest whole step")
            .in("mm")
            .above(0, limits::plan_depth_mm),
        field("floor_errors", &T::floor_errors, "independent errors of `floor`; at most 3")
            .items(0, 3),
        field("floor_provenance", &T::floor_provenance,
              "how both were made, where they were worked out from something else"),
        field("floor_refractive_index", &T::floor_refractive_index,
              "turns the floor's reflectance seen in air into the one the paste sees; 1.54 is "
              "dentine (from memory)")
            .range(1, 2),
        field("specular_included", &T::specular_included, "how the target and the floor were read"),
        field("max_layers", &T::max_layers, "pastes in one plan")
            .range(1, static_cast<double>(limits::plan_layers)),
        field("thickness_sd_mm", &T::thickness_sd_mm,
              "standard deviation of a layer's thickness as held by hand")
            .in("mm")
            .range(0, 2),
        field("role_order", &T::role_order,
              "True: opaque, dentine, body, enamel, translucent from the floor out"),
        field("placing", &T::placing, "how the cavity is filled and cured"),
        field("illuminants", &T::illuminants,
              "for the prediction, beside the target's own; empty: D65, A and LED-B3")
            .items(0, limits::plan_illuminants),
        field("illuminant_weights", &T::illuminant_weights,
              "of `illuminants` in the objective, the target's own light weighing 1; empty: all 0")
            .range(0, 1e6),
        field("weights", &T::weights, "parametric factors of the difference"),
        field("step_mm", &T::step_mm, "every layer is a whole number of these")
            .in("mm")
            .range(0.01, 0.5),
        field("total_held", &T::total_held,
              "True: the hand keeps the depth, and the outermost layer takes up the errors"),
        field("alternatives", &T::alternatives,
              "plans that differ in a paste, per number of layers"),
        field("rank_by_transport", &T::rank_by_transport,
              "True: stacks whose pastes all carry transport constants are searched and predicted "
              "by that engine; False: two fluxes for all")};
  }
};

/// One layer of a plan.
struct PlannedLayer {
  std::string paste;
  Role role = Role::body;
  double thickness_mm = 0;
  double de00_per_0_1_mm = 0;
  bool extrapolated = false;
};
template <>
struct Fields<PlannedLayer> {
  static constexpr const char* name = "PlannedLayer";
  static constexpr auto all() {
    return FieldList{needed("paste", &PlannedLayer::paste, "name of the paste"),
                     needed("role", &PlannedLayer::role, "of the paste"),
                     needed("thickness_mm", &PlannedLayer::thickness_mm, "in mm"),
                     field("de00_per_0_1_mm", &PlannedLayer::de00_per_0_1_mm,
                           "change of colour in ΔE00 per 0.1 mm of this layer"),
                     field("extrapolated", &PlannedLayer::extrapolated,
                           "outside the thicknesses its constants were fitted to")};
  }
};

/// Which part of its layer a portion is.
enum class Portion { level, first_wedge, second_wedge, walls, core, contact_wall };
template <>
struct Words<Portion> {
  static constexpr const char* name = "Portion";
  static constexpr auto words =
      words_of("level", "first_wedge", "second_wedge", "walls", "core", "contact_wall");
};

/// One portion of paste, cured before the next goes on.
struct Increment {
  int order = 1;
  std::string paste;
  double thickness_mm = 0;
  double exposure_j_cm2 = 0;
  std::optional<double> exposure_s;
  Portion portion = Portion::level;
  /// Share of its slice of the layer: 1, of a wedge or of walls and core ½, of a contact wall 0.
  double share = 1;
  /// Share of light at 460 nm that reaches its underside.
  double blue_share = 0;
  /// Whether `blue_share` is of the constants at 460 nm; else Beer–Lambert from the nearest band.
  bool blue_measured = false;
  bool contour = false;
};
template <>
struct Fields<Increment> {
  static constexpr const char* name = "Increment";
  static constexpr auto all() {
    return FieldList{
        needed("order", &Increment::order, "1 for the portion placed first"),
        needed("paste", &Increment::paste, "name of the paste"),
        needed("thickness_mm", &Increment::thickness_mm,
               "in mm; along the light; of a contact wall its height"),
        field("exposure_j_cm2", &Increment::exposure_j_cm2, "radiant exposure in J/cm²"),
        field("exposure_s", &Increment::exposure_s,
              "whole seconds, where the lamp's irradiance is known")
            .null(),
        field("portion", &Increment::portion, "which part of its layer it is"),
        field("share", &Increment::share, "of its slice of the layer; 0 for a contact wall"),
        field("blue_share", &Increment::blue_share,
              "of light at 460 nm that reaches its underside"),
        field("blue_measured", &Increment::blue_measured,
              "True: from the constants at 460 nm; else exponential from the nearest band"),
        field("contour", &Increment::contour,
              "the last one: finished to contour before it is cured")};
  }
};

/// The colour to expect under one light.
struct PredictedColour {
  Viewing viewing;
  Lab lab;
  Lab target;
  double de00 = 0;
};
template <>
struct Fields<PredictedColour> {
  static constexpr const char* name = "PredictedColour";
  static PredictedColour blank() {
    return {.viewing = mamelon::blank<Viewing>(), .lab = {}, .target = {}, .de00 = 0};
  }
  static constexpr auto all() {
    return FieldList{
        needed("viewing", &PredictedColour::viewing, "illuminant and observer"),
        needed("lab", &PredictedColour::lab, "predicted colour of the filling"),
        needed("target", &PredictedColour::target, "colour to reach under the same viewing")
            .hidden(),
        needed("de00", &PredictedColour::de00, "CIEDE2000 between the two")};
  }
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
template <>
struct Fields<ContactWall> {
  static constexpr const char* name = "ContactWall";
  static ContactWall blank() {
    return {
        .paste = {}, .height_mm = 0, .width_mm = 0, .in_front = mamelon::blank<PredictedColour>()};
  }
  static constexpr auto all() {
    return FieldList{needed("paste", &ContactWall::paste, "the outermost one"),
                     needed("height_mm", &ContactWall::height_mm, "from the floor to the surface"),
                     needed("width_mm", &ContactWall::width_mm, "towards the neighbour"),
                     needed("in_front", &ContactWall::in_front,
                            "colour along the light over the wall, as if it were wide")};
  }
};

/// Layers and increments from the floor outward, and the colour to expect.
struct Plan {
  std::vector<PlannedLayer> layers;
  std::vector<Increment> increments;
  std::vector<PredictedColour> predicted;
  Reflectance reflectance;
  double de00 = 0;
  /// Root mean square over the errors of thickness, target, floor and pastes, and over the lights
  /// with their weights.
  double de00_rms = 0;
  double de00_p95 = 0;
  double metamerism = 0;
  Engine engine = Engine::kubelka_munk;
  /// Whether the two above are of whole stacks drawn at random, because within the error of a
  /// thickness the colour follows no curve of second order; else of colours drawn along such
  /// curves.
  bool sampled = false;
  double de00_confirmed = 0;
  std::optional<ContactWall> contact_wall;
};
template <>
struct Fields<Plan> {
  static constexpr const char* name = "Plan";
  static constexpr auto all() {
    return FieldList{
        needed("layers", &Plan::layers, "from the floor outward"),
        needed("increments", &Plan::increments, "in the order they are placed"),
        needed("predicted", &Plan::predicted, "colour under each illuminant"),
        needed("reflectance", &Plan::reflectance, "predicted, seen outside"),
        field("de00", &Plan::de00, "under the target's own viewing, thickness as planned"),
        field("de00_rms", &Plan::de00_rms,
              "root mean square over the errors of thickness, target and pastes")
            .key("de00_expected")
            .formerly("de00_expected"),
        field("de00_p95", &Plan::de00_p95,
              "95 of 100 such fillings come nearer, under the target's own light"),
        field("metamerism", &Plan::metamerism,
              "largest ΔE00 under the other illuminants less that under the first"),
        field("engine", &Plan::engine, "of every colour here"),
        field("sampled", &Plan::sampled,
              "True: `de00_rms` and `de00_p95` are of stacks drawn at random; False: of colours "
              "drawn along curves of second order"),
        field("de00_confirmed", &Plan::de00_confirmed,
              "`de00` by transport of 8 streams; by two fluxes `de00` itself"),
        field("contact_wall", &Plan::contact_wall,
              "the wall towards the neighbour, where one was asked for")
            .null()};
  }
};

/// What plans of so many layers come to.
struct LayerGain {
  int layers = 1;
  double de00_rms = 0;
  double gain_de00 = 0;
};
template <>
struct Fields<LayerGain> {
  static constexpr const char* name = "LayerGain";
  static constexpr auto all() {
    return FieldList{
        needed("layers", &LayerGain::layers, "1, 2 or 3"),
        needed("de00_rms", &LayerGain::de00_rms, "of the best plan of so many")
            .key("de00_expected")
            .formerly("de00_expected"),
        field("gain_de00", &LayerGain::gain_de00, "less than the best of one layer fewer")};
  }
};

/// Two plans alike under the target's light, each as good as the other (`is_as_good`), that part
/// visibly under another.
struct PartingTie {
  std::size_t nearer = 0;
  std::size_t farther = 0;
  Viewing viewing;
  double apart_de00 = 0;
};
template <>
struct Fields<PartingTie> {
  static constexpr const char* name = "PartingTie";
  static PartingTie blank() {
    return {.nearer = 0, .farther = 0, .viewing = mamelon::blank<Viewing>(), .apart_de00 = 0};
  }
  static constexpr auto all() {
    return FieldList{needed("nearer", &PartingTie::nearer, "index into `PlanSet.plans`"),
                     needed("farther", &PartingTie::farther, "the same"),
                     needed("viewing", &PartingTie::viewing, "where the two part"),
                     needed("apart_de00", &PartingTie::apart_de00, "by how much")};
  }
};

/// Why no allowed plan is acceptable.
struct OutOfReach {
  double de00 = 0;
  std::string reason;
};
template <>
struct Fields<OutOfReach> {
  static constexpr const char* name = "OutOfReach";
  static constexpr auto all() {
    return FieldList{
        needed("de00", &OutOfReach::de00, "of the plan recommended"),
        needed("reason", &OutOfReach::reason, "what stands in the way, and what would help")};
  }
};

/// The best plans of a request, and which is recommended.
struct PlanSet {
  std::vector<Plan> plans;
  std::size_t recommended = 0;
  std::string why;
  double second_layer_gain_de00 = 0;
  std::vector<std::string> warnings;
  Provenance provenance;
  std::vector<LayerGain> gains;
  std::vector<PartingTie> ties;
  std::optional<OutOfReach> out_of_reach;
};
template <>
struct Fields<PlanSet> {
  static constexpr const char* name = "PlanSet";
  static constexpr auto all() {
    return FieldList{
        needed("plans", &PlanSet::plans,
               "best first within each number of layers, fewest layers first"),
        field("recommended", &PlanSet::recommended, "index into `plans`"),
        field("why", &PlanSet::why, "the reason in one sentence"),
        field("second_layer_gain_de00", &PlanSet::second_layer_gain_de00,
              "expected ΔE00 of the best single layer less that of the best pair"),
        field("warnings", &PlanSet::warnings, "what to know before using it"),
        field("provenance", &PlanSet::provenance, "how it was made"),
        field("gains", &PlanSet::gains,
              "what each further layer buys; by number of layers, where some plan has it"),
        field("ties", &PlanSet::ties, "plans alike that part under another light"),
        field("out_of_reach", &PlanSet::out_of_reach,
              "why no plan is acceptable; None where one is")};
  }
};

/// What the rule of what to recommend asks of a plan.
struct PlanFigures {
  std::size_t layers = 1;  ///< how many
  double de00 = 0;         ///< as planned, to the target
  double de00_rms = 0;     ///< expected: see `Plan::de00_rms`
};
/// Index of the plan to recommend, of plans in the order of their number of layers and, within one
/// number, of `de00_rms`. Where some plan is acceptable as planned: the fewest layers of such a
/// plan, and one more as long as an acceptable plan of it is expected visibly nearer. Where none
/// is: the fewest layers whose best is not visibly worse than the best of all. Throws
/// ArgumentError for no plan.
[[nodiscard]] std::size_t recommended(std::span<const PlanFigures> plans);

/// Whether a plan is as good as the one recommended: expected within a tenth of the perceptibility
/// threshold of it, or nearer, and acceptable as planned where that one is.
[[nodiscard]] bool is_as_good(const Plan& plan, const Plan& recommended);

/// Searches all ordered stacks of up to `max_layers` pastes whose thicknesses, whole steps, add up
/// to the depth. The goal is the root mean square of ΔE00 over the errors of thickness, target,
/// floor and pastes, in the search at first order: √(ΔE00² + Σ σᵢ² gᵢᵀ G gᵢ + …), with gᵢ the
/// change of colour with error i and G the metric of ΔE00 at the target. Of more than 64 pastes,
/// stacks of three are made of the 64 that come nearest in stacks of two. Recommended are the
/// fewest layers of which some plan is acceptable, and one more only for a gain that is visible;
/// where none is acceptable, `PlanSet::out_of_reach` says why. `progress` is asked every few
/// milliseconds; when it returns false, StoppedError is thrown. Throws ArgumentError for a depth,
/// step, limits, weights or grids out of range, and ModelError for a depth above 20 mm, one that no
/// allowed stack fills, or a floor that reads below its own surface reflection.
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
  std::vector<Plan> plans;
  std::vector<std::string> pastes;
  double de00_rms = 0;
  std::vector<std::string> differences;
  std::string why;
  std::vector<std::string> warnings;
  Provenance provenance;
};
template <>
struct Fields<DepthPlans> {
  static constexpr const char* name = "DepthPlans";
  static constexpr auto all() {
    using T = DepthPlans;
    return FieldList{needed("plans", &T::plans, "one a depth, in their order"),
                     needed("pastes", &T::pastes, "from the floor outward"),
                     field("de00_rms", &T::de00_rms, "root mean square over the depths")
                         .key("de00_expected")
                         .formerly("de00_expected"),
                     field("differences", &T::differences,
                           "what the steps at each further depth have otherwise"),
                     field("why", &T::why, "the reason in one sentence"),
                     field("warnings", &T::warnings, "what to know before using it"),
                     field("provenance", &T::provenance, "how it was made")};
  }
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
