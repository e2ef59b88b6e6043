#pragma once
// Fields of the value types of the shade layer.

#include "mamelon/match.h"
#include "mamelon/tabs.h"

#include "describe_colour.h"

namespace mamelon::python {

template <>
struct Fields<Tab> {
  static constexpr const char* name = "Tab";
  static constexpr auto all() {
    return std::tuple{
        needed("name", &Tab::name, "unique in its set"),
        needed("lab", &Tab::lab, "the colour with its uncertainty"),
        field("curve", &Tab::curve, "the reflectance where one was measured"),
        field("shared_dof", &Tab::shared_dof, "degrees of freedom behind the shared covariance")};
  }
};
template <>
struct Fields<TabSet> {
  static constexpr const char* name = "TabSet";
  static TabSet blank() {
    return {.name = {}, .tabs = {}, .viewing = Fields<Viewing>::blank(), .provenance = {}};
  }
  static constexpr auto all() {
    return std::tuple{needed("name", &TabSet::name, "of the set"),
                      needed("tabs", &TabSet::tabs, "in the set's own order"),
                      needed("viewing", &TabSet::viewing, "of every colour in the set"),
                      field("new_reading", &TabSet::new_reading,
                            "3×3 covariance of one new reading; zero where it is not known"),
                      field("new_reading_dof", &TabSet::new_reading_dof,
                            "degrees of freedom behind it"),
                      field("provenance", &TabSet::provenance, "how it was made")};
  }
  static void check(const TabSet& tabs) { check_tab_set(tabs); }
};
template <>
struct Fields<RankedTab> {
  static constexpr const char* name = "RankedTab";
  static constexpr auto all() {
    return std::tuple{
        needed("tab", &RankedTab::tab, "name of the tab"),
        needed("de00", &RankedTab::de00, "CIEDE2000 between reading and tab"),
        field("low", &RankedTab::low, "lower end of the 95 % interval of ΔE00"),
        field("high", &RankedTab::high, "upper end of the 95 % interval of ΔE00"),
        field("chance_best", &RankedTab::chance_best, "that this tab is the nearest, 0–1"),
        field("chance_perceptible", &RankedTab::chance_perceptible,
              "that ΔE00 lies within the perceptibility threshold, 0–1"),
        field("chance_acceptable", &RankedTab::chance_acceptable,
              "that ΔE00 lies within the acceptability threshold, 0–1"),
        field("surely_perceptible_match", &RankedTab::surely_perceptible_match,
              "True where ΔE00 lies within the perceptibility threshold with 95 %"),
        field("surely_acceptable_match", &RankedTab::surely_acceptable_match,
              "True where ΔE00 lies within the acceptability threshold with 95 %"),
        field("dl", &RankedTab::dl, "signed lightness part of ΔE00, reading minus tab"),
        field("dc", &RankedTab::dc, "signed chroma part of ΔE00"),
        field("dh", &RankedTab::dh, "signed hue part of ΔE00"),
        field("difference", &RankedTab::difference, "plain CIELAB differences, reading minus tab"),
        field("lab", &RankedTab::lab, "the tab's colour"),
        field("grade", &RankedTab::grade, "of the match by PT, AT, 2·AT, 3·AT")};
  }
};
template <>
struct Fields<ToothPrior> {
  static constexpr const char* name = "ToothPrior";
  static constexpr auto all() {
    return std::tuple{
        needed("name", &ToothPrior::name, "of the population behind it"),
        needed("mean", &ToothPrior::mean, "of the teeth"),
        needed("covariance", &ToothPrior::covariance, "3×3, between teeth; zero: no prior")};
  }
};
template <>
struct Fields<Between> {
  static constexpr const char* name = "Between";
  static constexpr auto all() {
    return std::tuple{
        needed("nearer", &Between::nearer, "the nearer tab"),
        needed("other", &Between::other, "the other tab"),
        needed("share_of_other", &Between::share_of_other, "0–0.5: how far towards `other`"),
        field("de00", &Between::de00, "of the reading to that point")};
  }
};
template <>
struct Fields<PickUnder> {
  static constexpr const char* name = "PickUnder";
  static constexpr auto all() {
    return std::tuple{needed("illuminant", &PickUnder::illuminant, "name of the light"),
                      needed("nearest", &PickUnder::nearest, "tab that is nearest under it"),
                      needed("nearest_de00", &PickUnder::nearest_de00, "ΔE00 to that tab"),
                      field("first_de00", &PickUnder::first_de00,
                            "of the tab that is nearest under the set's own viewing")};
  }
};
template <>
struct Fields<Match> {
  static constexpr const char* name = "Match";
  static constexpr auto all() {
    return std::tuple{
        needed("label", &Match::label, "of the reading"),
        needed("zone", &Match::zone, "of the reading"),
        needed("ranked", &Match::ranked, "tabs, nearest first"),
        field("indistinguishable", &Match::indistinguishable,
              "tabs whose chance of being the nearest is 5 % or more"),
        field("between", &Match::between,
              "a point between two tabs that is clearly nearer than any tab, or None"),
        field("picks_under", &Match::picks_under,
              "the pick under D65, A and LED-B3; empty without reflectance curves"),
        field("weights", &Match::weights, "parametric factors that were used"),
        field("prior", &Match::prior, "name of the prior that the chances count in, or empty"),
        field("warnings", &Match::warnings, "what to know before using it"),
        field("provenance", &Match::provenance, "how it was made")};
  }
};

}  // namespace mamelon::python
