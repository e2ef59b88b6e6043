#pragma once
// Fields of the value types of the plan layer and of a report.

#include <array>
#include <utility>

#include "mamelon/crosswalk.h"
#include "mamelon/files.h"
#include "mamelon/plan.h"

#include "describe_capture.h"
#include "describe_material.h"
#include "describe_tabs.h"

namespace mamelon::python {

template <>
struct Names<Placement> {
  static constexpr const char* alias = "Placement";
  static constexpr std::array names{std::pair{Placement::flat, "flat"},
                                    std::pair{Placement::oblique, "oblique"},
                                    std::pair{Placement::wall_first, "wall_first"}};
};
template <>
struct Names<Portion> {
  static constexpr const char* alias = "Portion";
  static constexpr std::array names{std::pair{Portion::level, "level"},
                                    std::pair{Portion::first_wedge, "first_wedge"},
                                    std::pair{Portion::second_wedge, "second_wedge"},
                                    std::pair{Portion::walls, "walls"},
                                    std::pair{Portion::core, "core"},
                                    std::pair{Portion::contact_wall, "contact_wall"}};
};

template <>
struct Fields<Placing> {
  static constexpr const char* name = "Placing";
  static constexpr auto all() {
    return std::tuple{field("order", &Placing::order, "flat, oblique or wall_first"),
                      field("contact_wall", &Placing::contact_wall,
                            "True: a box with a neighbour, whose contact wall is built first"),
                      field("lamp_irradiance_mw_cm2", &Placing::lamp_irradiance_mw_cm2,
                            "at the paste; 0 when unknown: no times are given"),
                      field("contact_wall_width_mm", &Placing::contact_wall_width_mm,
                            "of the contact wall, 0.3 to 3 mm")};
  }
};
template <>
struct Fields<Floor> {
  static constexpr const char* name = "Floor";
  static constexpr auto all() {
    return std::tuple{
        needed("reflectance", &Floor::reflectance, "as seen in air"),
        field("errors", &Floor::errors, "independent, each a curve of one standard deviation"),
        field("estimated", &Floor::estimated, "whether the curve was estimated from a colour")};
  }
};
template <>
struct Fields<PlanRequest> {
  static constexpr const char* name = "PlanRequest";
  static PlanRequest blank() {
    PlanRequest request{.target = Fields<Reading>::blank()};
    return request;
  }
  static constexpr auto all() {
    using T = PlanRequest;
    return std::tuple{
        needed("target", &T::target, "the colour to reach"),
        needed("pastes", &T::pastes, "what there is to place"),
        needed("floor", &T::floor, "reflectance of the prepared floor as seen in air"),
        needed("depth_mm", &T::depth_mm, "of the cavity, above 0 and at most 20 mm"),
        field("floor_errors", &T::floor_errors, "independent errors of `floor`; at most 3"),
        field("floor_refractive_index", &T::floor_refractive_index,
              "turns the floor's reflectance seen in air into the one the paste sees"),
        field("specular_included", &T::specular_included, "how the target and the floor were read"),
        field("max_layers", &T::max_layers, "1, 2 or 3 pastes in one plan"),
        field("thickness_sd_mm", &T::thickness_sd_mm,
              "how well a layer's thickness is held by hand"),
        field("role_order", &T::role_order,
              "True: opaque, dentine, body, enamel, translucent from the floor out"),
        field("placing", &T::placing, "how the cavity is filled and cured"),
        field("illuminants", &T::illuminants,
              "for the prediction, beside the target's own; empty: D65, A and LED-B3"),
        field("illuminant_weights", &T::illuminant_weights,
              "of `illuminants` in the objective, the target's own light weighing 1; empty: all 0"),
        field("weights", &T::weights, "parametric factors of the difference"),
        field("step_mm", &T::step_mm, "every layer is a whole number of these; 0.01 to 0.5 mm"),
        field("total_held", &T::total_held,
              "True: the hand keeps the depth, and the outermost layer takes up the errors"),
        field("alternatives", &T::alternatives,
              "plans that differ in a paste, per number of layers"),
        field("rank_by_transport", &T::rank_by_transport,
              "True: stacks whose pastes all carry transport constants are searched and predicted "
              "by that engine; False: two fluxes for all")};
  }
};
template <>
struct Fields<PlannedLayer> {
  static constexpr const char* name = "PlannedLayer";
  static constexpr auto all() {
    return std::tuple{needed("paste", &PlannedLayer::paste, "name of the paste"),
                      needed("role", &PlannedLayer::role, "of the paste"),
                      needed("thickness_mm", &PlannedLayer::thickness_mm, "in mm"),
                      field("de00_per_0_1_mm", &PlannedLayer::de00_per_0_1_mm,
                            "change of colour in ΔE00 per 0.1 mm of this layer"),
                      field("extrapolated", &PlannedLayer::extrapolated,
                            "outside the thicknesses its constants were fitted to")};
  }
};
template <>
struct Fields<Increment> {
  static constexpr const char* name = "Increment";
  static constexpr auto all() {
    return std::tuple{
        needed("order", &Increment::order, "1 for the portion placed first"),
        needed("paste", &Increment::paste, "name of the paste"),
        needed("thickness_mm", &Increment::thickness_mm, "in mm"),
        field("exposure_j_cm2", &Increment::exposure_j_cm2, "radiant exposure in J/cm²"),
        field("exposure_s", &Increment::exposure_s,
              "whole seconds, where the lamp's irradiance is known"),
        field("portion", &Increment::portion, "which part of its layer it is"),
        field("share", &Increment::share, "of its slice of the layer; 0 for a contact wall"),
        field("blue_share", &Increment::blue_share,
              "of light at 460 nm that reaches its underside"),
        field("blue_measured", &Increment::blue_measured,
              "True: from the constants at 460 nm; else exponential from the nearest band"),
        field("contour", &Increment::contour, "True: the last one, finished to contour")};
  }
};
template <>
struct Fields<PredictedColour> {
  static constexpr const char* name = "PredictedColour";
  static PredictedColour blank() {
    return {.viewing = Fields<Viewing>::blank(), .lab = {}, .target = {}, .de00 = 0};
  }
  static constexpr auto all() {
    return std::tuple{
        needed("viewing", &PredictedColour::viewing, "illuminant and observer"),
        needed("lab", &PredictedColour::lab, "predicted colour of the filling"),
        needed("target", &PredictedColour::target, "colour to reach under the same viewing"),
        needed("de00", &PredictedColour::de00, "CIEDE2000 between the two")};
  }
};
template <>
struct Fields<ContactWall> {
  static constexpr const char* name = "ContactWall";
  static ContactWall blank() {
    return {
        .paste = {}, .height_mm = 0, .width_mm = 0, .in_front = Fields<PredictedColour>::blank()};
  }
  static constexpr auto all() {
    return std::tuple{
        needed("paste", &ContactWall::paste, "the outermost one"),
        needed("height_mm", &ContactWall::height_mm, "from the floor to the surface"),
        needed("width_mm", &ContactWall::width_mm, "towards the neighbour"),
        needed("in_front", &ContactWall::in_front,
               "colour along the light over the wall, as if it were wide")};
  }
};
template <>
struct Fields<DepthPlans> {
  static constexpr const char* name = "DepthPlans";
  static constexpr auto all() {
    using T = DepthPlans;
    return std::tuple{
        needed("plans", &T::plans, "one a depth, in their order"),
        needed("pastes", &T::pastes, "from the floor outward"),
        field("de00_expected", &T::de00_expected, "root mean square over the depths"),
        field("differences", &T::differences, "what the steps at each further depth have otherwise"),
        field("why", &T::why, "the reason in one sentence"),
        field("warnings", &T::warnings, "what to know before using it"),
        field("provenance", &T::provenance, "how it was made")};
  }
};
template <>
struct Fields<Plan> {
  static constexpr const char* name = "Plan";
  static constexpr auto all() {
    return std::tuple{
        needed("layers", &Plan::layers, "from the floor outward"),
        needed("increments", &Plan::increments, "in the order they are placed"),
        needed("predicted", &Plan::predicted, "colour under each illuminant"),
        needed("reflectance", &Plan::reflectance, "predicted, seen outside"),
        field("de00", &Plan::de00, "under the target's own viewing, thickness as planned"),
        field("de00_expected", &Plan::de00_expected,
              "rms over the errors of thickness, target and pastes"),
        field("de00_p95", &Plan::de00_p95, "95th percentile over the same errors"),
        field("metamerism", &Plan::metamerism,
              "largest ΔE00 under the other illuminants less that under the first"),
        field("engine", &Plan::engine, "of every colour here"),
        field("sampled", &Plan::sampled,
              "True: `de00_expected` and `de00_p95` are of stacks drawn at random; else first order"),
        field("de00_confirmed", &Plan::de00_confirmed,
              "`de00` by transport of 8 streams; by two fluxes `de00` itself"),
        field("contact_wall", &Plan::contact_wall,
              "the wall towards the neighbour, where one was asked for")};
  }
};
template <>
struct Fields<LayerGain> {
  static constexpr const char* name = "LayerGain";
  static constexpr auto all() {
    return std::tuple{
        needed("layers", &LayerGain::layers, "1, 2 or 3"),
        needed("de00_expected", &LayerGain::de00_expected, "of the best plan of so many"),
        field("gain_de00", &LayerGain::gain_de00, "less than the best of one layer fewer")};
  }
};
template <>
struct Fields<PartingTie> {
  static constexpr const char* name = "PartingTie";
  static PartingTie blank() {
    return {.nearer = 0, .farther = 0, .viewing = Fields<Viewing>::blank(), .apart_de00 = 0};
  }
  static constexpr auto all() {
    return std::tuple{needed("nearer", &PartingTie::nearer, "index into `PlanSet.plans`"),
                      needed("farther", &PartingTie::farther, "the same"),
                      needed("viewing", &PartingTie::viewing, "where the two part"),
                      needed("apart_de00", &PartingTie::apart_de00, "by how much")};
  }
};
template <>
struct Fields<OutOfReach> {
  static constexpr const char* name = "OutOfReach";
  static constexpr auto all() {
    return std::tuple{needed("de00", &OutOfReach::de00, "of the plan recommended"),
                      needed("reason", &OutOfReach::reason, "what stands in the way")};
  }
};
template <>
struct Fields<PlanSet> {
  static constexpr const char* name = "PlanSet";
  static constexpr auto all() {
    return std::tuple{needed("plans", &PlanSet::plans, "best first within each number of layers"),
                      field("recommended", &PlanSet::recommended, "index into `plans`"),
                      field("why", &PlanSet::why, "the reason in one sentence"),
                      field("second_layer_gain_de00", &PlanSet::second_layer_gain_de00,
                            "expected ΔE00 of the best single layer less that of the best pair"),
                      field("warnings", &PlanSet::warnings, "what to know before using it"),
                      field("provenance", &PlanSet::provenance, "how it was made"),
                      field("gains", &PlanSet::gains, "what each further layer buys"),
                      field("ties", &PlanSet::ties, "plans alike that part under another light"),
                      field("out_of_reach", &PlanSet::out_of_reach,
                            "why no plan is acceptable; None where one is")};
  }
};

template <>
struct Fields<CrosswalkRow> {
  static constexpr const char* name = "CrosswalkRow";
  static constexpr auto all() {
    using T = CrosswalkRow;
    return std::tuple{needed("tab", &T::tab, "name of the tab"),
                      needed("plans", &T::plans, "its best plans, fewest layers first"),
                      field("recommended", &T::recommended, "index into `plans`"),
                      field("why", &T::why, "the reason in one sentence"),
                      field("warnings", &T::warnings, "what to know before using it"),
                      field("provenance", &T::provenance, "how it was made")};
  }
};

// The table from tab to paste that owns what it shows.
struct OwnedCrosswalkReport {
  std::shared_ptr<const TabSet> tabs;
  std::shared_ptr<const PlanRequest> request;
  std::vector<CrosswalkRow> rows;
  std::vector<std::string> warnings;
};
template <>
struct Fields<OwnedCrosswalkReport> {
  static constexpr const char* name = "CrosswalkReport";
  static constexpr auto all() {
    using T = OwnedCrosswalkReport;
    return std::tuple{needed("tabs", &T::tabs, "the tabs"),
                      needed("request", &T::request, "all of the plans but their targets"),
                      needed("rows", &T::rows, "one a tab"),
                      field("warnings", &T::warnings, "that belong to no row")};
  }
};

// A report that owns what it shows.
struct OwnedReport {
  std::string label;
  Viewing viewing;
  std::vector<Reading> readings;
  std::vector<Match> matches;
  std::shared_ptr<const FittedCard> fit;
  std::shared_ptr<const Photo> photo;
  std::shared_ptr<const Zones> zones;
  std::shared_ptr<const TabSet> tabs;
  std::shared_ptr<const PasteSet> pastes;
  std::shared_ptr<const PlanRequest> request;
  std::shared_ptr<const PlanSet> plans;
  std::vector<Plan> zone_plans;
  std::string planned_zone;
  std::vector<std::string> warnings;
};
template <>
struct Fields<OwnedReport> {
  static constexpr const char* name = "Report";
  static OwnedReport blank() {
    return {.label = {},
            .viewing = Fields<Viewing>::blank(),
            .readings = {},
            .matches = {},
            .fit = {},
            .photo = {},
            .zones = {},
            .tabs = {},
            .pastes = {},
            .request = {},
            .plans = {},
            .zone_plans = {},
            .planned_zone = {},
            .warnings = {}};
  }
  static constexpr auto all() {
    using T = OwnedReport;
    return std::tuple{needed("label", &T::label, "of the case"),
                      needed("viewing", &T::viewing, "of its colours"),
                      needed("readings", &T::readings, "one a zone or specimen"),
                      field("matches", &T::matches, "one a reading"),
                      field("fit", &T::fit, "of the card, for a photo"),
                      field("photo", &T::photo, "the photo"),
                      field("zones", &T::zones, "of the tooth in the photo"),
                      field("tabs", &T::tabs, "the set that was ranked"),
                      field("pastes", &T::pastes, "the set that was planned with"),
                      field("request", &T::request, "of the plan"),
                      field("plans", &T::plans, "the answer to `request`"),
                      field("planned_zone", &T::planned_zone, "zone that the plan is for"),
                      field("warnings", &T::warnings, "that belong to no other value"),
                      field("zone_plans", &T::zone_plans,
                            "the recommended plan's pastes for every reading; may be empty")};
  }
};

// The same for the audit of a tab set.
struct OwnedAuditReport {
  std::string label;
  std::shared_ptr<const TabSet> tabs;
  std::shared_ptr<const Population> population;
  std::shared_ptr<const Audit> audit;
  std::shared_ptr<const Drift> drift;
  std::shared_ptr<const TabChoice> choice;
};
template <>
struct Fields<OwnedAuditReport> {
  static constexpr const char* name = "AuditReport";
  static constexpr auto all() {
    using T = OwnedAuditReport;
    return std::tuple{needed("label", &T::label, "of the report"),
                      needed("tabs", &T::tabs, "the set that was audited"),
                      needed("population", &T::population, "the teeth it was held against"),
                      needed("audit", &T::audit, "what was found"),
                      field("drift", &T::drift, "against an earlier set"),
                      field("choice", &T::choice, "of a smaller set")};
  }
};

}  // namespace mamelon::python
