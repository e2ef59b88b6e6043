#pragma once
// Fields of the value types of the plan layer and of a report.

#include "mamelon/crosswalk.h"
#include "mamelon/files.h"
#include "mamelon/plan.h"

#include "describe_capture.h"
#include "describe_material.h"
#include "describe_tabs.h"

namespace mamelon::python {

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
        field("floor_refractive_index", &T::floor_refractive_index,
              "turns the floor's reflectance seen in air into the one the paste sees"),
        field("specular_included", &T::specular_included, "how the target and the floor were read"),
        field("max_layers", &T::max_layers, "1, 2 or 3 pastes in one plan"),
        field("thickness_sd_mm", &T::thickness_sd_mm,
              "how well a layer's thickness is held by hand"),
        field("role_order", &T::role_order,
              "True: opaque, dentine, body, enamel, translucent from the floor out"),
        field("lamp_irradiance_mw_cm2", &T::lamp_irradiance_mw_cm2,
              "at the paste; 0 when unknown: no times are given"),
        field("illuminants", &T::illuminants,
              "for the prediction, beside the target's own; empty: D65, A and LED-B3"),
        field("illuminant_weights", &T::illuminant_weights,
              "of `illuminants` in the objective, the target's own light weighing 1; empty: all 0"),
        field("weights", &T::weights, "parametric factors of the difference"),
        field("certify", &T::certify,
              "True: the answer comes with a bound that proves it best within 0.01"),
        field("alternatives", &T::alternatives,
              "plans that differ in a paste, per number of layers")};
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
                            "change of colour in ΔE00 per 0.1 mm of this layer")};
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
              "seconds, where the lamp's irradiance is known")};
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
              "largest ΔE00 under the other illuminants less that under the first")};
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
                      field("bound", &PlanSet::bound,
                            "no allowed plan on the search grid has a lower expected ΔE00"),
                      field("warnings", &PlanSet::warnings, "what to know before using it"),
                      field("provenance", &PlanSet::provenance, "how it was made")};
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
                      field("warnings", &T::warnings, "what to know before using it")};
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
                      field("warnings", &T::warnings, "that belong to no other value")};
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
