#pragma once
// Reports that own what they show.

#include <memory>
#include <string>
#include <vector>

#include "mamelon/crosswalk.h"
#include "mamelon/files.h"
#include "mamelon/plan.h"

#include "photos.h"

namespace mamelon::python {

// The table from tab to paste that owns what it shows.
struct OwnedCrosswalkReport {
  std::shared_ptr<const TabSet> tabs;
  std::shared_ptr<const PlanRequest> request;
  std::vector<CrosswalkRow> rows;
  std::vector<std::string> warnings;
};
}  // namespace mamelon::python
namespace mamelon {
template <>
struct Fields<python::OwnedCrosswalkReport> {
  static constexpr const char* name = "CrosswalkReport";
  static constexpr auto all() {
    using T = python::OwnedCrosswalkReport;
    return std::tuple{needed("tabs", &T::tabs, "the tabs"),
                      needed("request", &T::request, "all of the plans but their targets"),
                      needed("rows", &T::rows, "one a tab"),
                      field("warnings", &T::warnings, "that belong to no row")};
  }
};
}  // namespace mamelon
namespace mamelon::python {

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
}  // namespace mamelon::python
namespace mamelon {
template <>
struct Fields<python::OwnedReport> {
  static constexpr const char* name = "Report";
  static python::OwnedReport blank() {
    return {.label = {},
            .viewing = mamelon::blank<Viewing>(),
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
    using T = python::OwnedReport;
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
}  // namespace mamelon
namespace mamelon::python {

// The same for the audit of a tab set.
struct OwnedAuditReport {
  std::string label;
  std::shared_ptr<const TabSet> tabs;
  std::shared_ptr<const Population> population;
  std::shared_ptr<const Audit> audit;
  std::shared_ptr<const Drift> drift;
  std::shared_ptr<const TabChoice> choice;
};
}  // namespace mamelon::python
namespace mamelon {
template <>
struct Fields<python::OwnedAuditReport> {
  static constexpr const char* name = "AuditReport";
  static constexpr auto all() {
    using T = python::OwnedAuditReport;
    return std::tuple{needed("label", &T::label, "of the report"),
                      needed("tabs", &T::tabs, "the set that was audited"),
                      needed("population", &T::population, "the teeth it was held against"),
                      needed("audit", &T::audit, "what was found"),
                      field("drift", &T::drift, "against an earlier set"),
                      field("choice", &T::choice, "of a smaller set")};
  }
};
}  // namespace mamelon
namespace mamelon::python {}  // namespace mamelon::python
