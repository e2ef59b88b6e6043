#pragma once
/// @file
/// What comes out of a case, in one value that owns it.

#include <cstddef>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "mamelon/case.h"
#include "mamelon/crosswalk.h"

namespace mamelon {

/// What was found of one tooth.
struct ToothReport {
  std::string name;
  std::optional<int> number{};
  std::vector<Reading> readings{};
  std::optional<Zones> zones{};  ///< of a photo
  std::vector<Match> matches{};  ///< one a reading; empty without tabs
  /// One a reading. A reading decides where a colour that meets it exactly is more likely
  /// acceptable on the tooth than not; where it does not, why, and the one change that would earn a
  /// decision: grade and plan are withheld.
  std::vector<std::optional<std::string>> withheld{};
  std::size_t planned = 0;         ///< which reading the plan is for, and stands first on the sheet
  std::optional<PlanSet> plans{};  ///< none where none was asked for or it is withheld
  std::vector<Plan> zone_plans{};  ///< the recommended plan's pastes in every reading; may be empty

  /// Whether reading `i` is certain enough to decide on.
  [[nodiscard]] bool decides(std::size_t i) const { return i >= withheld.size() || !withheld[i]; }
  /// The recommended plan, or null.
  [[nodiscard]] const Plan* best() const {
    return plans && !plans->plans.empty() ? &plans->plans.at(plans->recommended) : nullptr;
  }
};
template <>
struct Fields<ToothReport> {
  static constexpr const char* name = "ToothReport";
  static constexpr auto all() {
    using T = ToothReport;
    return FieldList{
        needed("name", &T::name, "the person's own, or its number or place"),
        field("number", &T::number, "in ISO 3950"),
        field("readings", &T::readings, "of its zones, or by an instrument"),
        field("zones", &T::zones, "of a photo"),
        field("matches", &T::matches, "one a reading; empty without tabs"),
        field("withheld", &T::withheld,
              "one a reading: why it is too uncertain to decide on, and what would help"),
        field("planned", &T::planned, "index of the reading that the plan is for"),
        field("plans", &T::plans, "None where none was asked for or it is withheld"),
        field("zone_plans", &T::zone_plans, "the recommended plan's pastes in every reading")};
  }
};

/// Everything that was found.
struct Report {
  std::string label{};                   ///< of the case
  ChairNotes chair{};                    ///< of the case
  Viewing viewing;                       ///< of every colour
  std::vector<ToothReport> teeth{};      ///< what was found, tooth by tooth
  std::size_t headline = 0;              ///< index into `teeth`
  std::optional<Photo> photo{};          ///< as it was decoded
  std::optional<CardFit> fit{};          ///< of its card
  std::optional<TabSet> tabs{};          ///< the set that was ranked
  std::optional<PlanRequest> request{};  ///< with the headline's target
  std::vector<std::string> warnings{};   ///< what changes the decision
  std::vector<std::string> notes{};      ///< what else to know
  Provenance provenance{};               ///< how it was made
  /// The case's photo and what its fit was made from, of which `fit_photo` makes `photo` and `fit`
  /// again; null where no tooth was read in a photo.
  std::shared_ptr<const Case> photographed{};

  /// The headline.
  [[nodiscard]] const ToothReport& first() const { return teeth.at(headline); }
};
/// All but `photo` and `fit`, which follow from `photographed`.
template <>
struct Fields<Report> {
  static constexpr const char* name = "Report";
  static Report blank() { return {.viewing = mamelon::blank<Viewing>()}; }
  static constexpr auto all() {
    using T = Report;
    return FieldList{field("label", &T::label, "of the case"),
                     field("chair", &T::chair, "of the case"),
                     needed("viewing", &T::viewing, "of every colour"),
                     field("teeth", &T::teeth, "what was found, tooth by tooth"),
                     field("headline", &T::headline, "index of the tooth that stands first"),
                     field("tabs", &T::tabs, "the set that was ranked"),
                     field("request", &T::request, "of the plans, with the headline's target"),
                     field("warnings", &T::warnings, "what changes the decision"),
                     field("notes", &T::notes, "what else to know"),
                     field("provenance", &T::provenance, "how it was made"),
                     field("photographed", &T::photographed,
                           "the case's photo and what its card is found by; None without a photo")};
  }
};

/// Whether what was asked has a good answer: of a plan, every tooth has one that is acceptable; of
/// a shade, every reading decides and has a tab that is acceptable.
[[nodiscard]] bool is_answered(const Report& report);

/// Whether its tabs or pastes are made up: marked wherever the report is shown, and no plan.
[[nodiscard]] bool is_invented(const Report& report);

/// Digest of everything a report says, from those of its readings, matches and plans.
[[nodiscard]] Provenance provenance_of(const Report& report);

/// Name of a reading: its label and zone.
[[nodiscard]] std::string name_of(const Reading& reading);
/// Name of a reading where its tooth is known: the zone, or the label of one without.
[[nodiscard]] std::string zone_name(const Reading& reading);
/// The notes of the report and of its readings and matches, each once.
[[nodiscard]] std::vector<std::string> all_notes(const Report& report);
/// Whether a value of ΔE00 lies inside its own interval; otherwise the interval alone is shown.
[[nodiscard]] bool is_inside_interval(const RankedTab& tab);
/// Whether any uncertainty of a reading is stated.
[[nodiscard]] bool is_uncertainty_known(const Reading& reading);

/// The table from tab to paste.
struct CrosswalkReport {
  TabSet tabs;
  PlanRequest request;  ///< all of the plans but their targets
  std::vector<CrosswalkRow> rows{};
  std::vector<std::string> warnings{};
};

template <>
struct Fields<CrosswalkReport> {
  static constexpr const char* name = "CrosswalkReport";
  static CrosswalkReport blank() {
    return {.tabs = mamelon::blank<TabSet>(), .request = mamelon::blank<PlanRequest>()};
  }
  static constexpr auto all() {
    using T = CrosswalkReport;
    return FieldList{needed("tabs", &T::tabs, "the tabs"),
                     needed("request", &T::request, "all of the plans but their targets"),
                     needed("rows", &T::rows, "one a tab"),
                     field("warnings", &T::warnings, "that belong to no row")};
  }
};

}  // namespace mamelon
