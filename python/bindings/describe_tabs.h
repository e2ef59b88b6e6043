#pragma once
// Fields of the value types that calibrate, transfer and audit tab sets.

#include "mamelon/audit.h"
#include "mamelon/calibrate.h"
#include "mamelon/population.h"
#include "mamelon/transfer.h"

#include "describe_shade.h"

namespace mamelon::python {

template <>
struct Names<TransferForm> {
  static constexpr const char* alias = "TransferForm";
  static constexpr std::array names{
      std::pair{TransferForm::none, "none"}, std::pair{TransferForm::offset, "offset"},
      std::pair{TransferForm::diagonal, "diagonal"}, std::pair{TransferForm::affine, "affine"}};
};
template <>
struct Names<DriftVerdict> {
  static constexpr const char* alias = "DriftVerdict";
  static constexpr std::array names{std::pair{DriftVerdict::steady, "steady"},
                                    std::pair{DriftVerdict::drifted, "drifted"},
                                    std::pair{DriftVerdict::drifted_visibly, "drifted_visibly"},
                                    std::pair{DriftVerdict::not_testable, "not_testable"}};
};

template <>
struct Names<SetVerdict> {
  static constexpr const char* alias = "SetVerdict";
  static constexpr std::array names{std::pair{SetVerdict::unknown, "unknown"},
                                    std::pair{SetVerdict::steady, "steady"},
                                    std::pair{SetVerdict::changed, "changed"}};
};

template <>
struct Fields<RepeatReading> {
  static constexpr const char* name = "RepeatReading";
  static RepeatReading blank() {
    return {.reading = Fields<Reading>::blank(), .operator_name = {}, .day = {}, .instrument = {}};
  }
  static constexpr auto all() {
    using T = RepeatReading;
    return std::tuple{needed("reading", &T::reading, "its label is the tab's name"),
                      field("operator_name", &T::operator_name, "who read; empty when not noted"),
                      field("day", &T::day, "when; empty when not noted"),
                      field("instrument", &T::instrument, "with what; empty when not noted"),
                      field("row", &T::row, "where it stands in the user's table")};
  }
};
template <>
struct Fields<SetAside> {
  static constexpr const char* name = "SetAside";
  static constexpr auto all() {
    using T = SetAside;
    return std::tuple{
        needed("row", &T::row, "where it stands in the user's table"),
        needed("tab", &T::tab, "name of the tab"),
        needed("lab", &T::lab, "as read"),
        field("distance", &T::distance, "root of T² against all other readings"),
        field("de00", &T::de00, "from what the tab's other readings lead to expect"),
        field("chance_gross", &T::chance_gross, "that it is a gross error after all, 0–1"),
        field("reason", &T::reason, "why it was left out")};
  }
};
template <>
struct Fields<VariancePart> {
  static constexpr const char* name = "VariancePart";
  static constexpr auto all() {
    using T = VariancePart;
    return std::tuple{
        needed("source", &T::source, "repeat, placement, day, operator or instrument"),
        field("levels", &T::levels, "days, operators, …; for repeat the readings"),
        field("dof", &T::dof, "degrees of freedom"),
        field("covariance", &T::covariance, "3×3, unbiased: a small part may be indefinite"),
        field("variance", &T::variance, "mean square ΔE00 due to this part, unbiased"),
        field("variance_low", &T::variance_low, "lower end of its 95 % interval"),
        field("variance_high", &T::variance_high, "upper end of its 95 % interval"),
        field("sd_de00", &T::sd_de00, "root of the variance, 0 where that is negative"),
        field("note", &T::note, "what the part could not be told from")};
  }
};
template <>
struct Fields<TabRecord> {
  static constexpr const char* name = "TabRecord";
  static constexpr auto all() {
    using T = TabRecord;
    return std::tuple{
        needed("tab", &T::tab, "name of the tab"),
        field("count", &T::count, "readings given"),
        field("used", &T::used, "readings that went into the mean"),
        field("mcdm_de00", &T::mcdm_de00, "mean colour difference from the mean, CIEDE2000"),
        field("mcdm_de76", &T::mcdm_de76, "the same in ΔE*ab"),
        field("low", &T::low, "lower end of the 95 % interval of the mean in L*, a*, b*"),
        field("high", &T::high, "upper end of the 95 % interval of the mean"),
        field("no_repeatability", &T::no_repeatability, "True when read once"),
        field("repeats_worse", &T::repeats_worse, "True when it repeats worse than the others")};
  }
};
template <>
struct Fields<Calibration> {
  static constexpr const char* name = "Calibration";
  static Calibration blank() {
    return {.tabs = Fields<TabSet>::blank(),
            .records = {},
            .set_aside = {},
            .parts = {},
            .warnings = {}};
  }
  static constexpr auto all() {
    using T = Calibration;
    return std::tuple{
        needed("tabs", &T::tabs, "the set, in order of first appearance"),
        field("records", &T::records, "what is known of each tab beside its colour"),
        field("set_aside", &T::set_aside, "readings left out of the means"),
        field("parts", &T::parts, "of the variance of a reading"),
        field("new_reading", &T::new_reading,
              "3×3 covariance of one new reading by the same means, for its `random`"),
        field("new_reading_dof", &T::new_reading_dof, "degrees of freedom behind it"),
        field("warnings", &T::warnings, "what to know before using it")};
  }
};
template <>
struct Fields<Mcdm> {
  static constexpr const char* name = "Mcdm";
  static constexpr auto all() {
    return std::tuple{needed("de00", &Mcdm::de00, "in CIEDE2000"),
                      needed("de76", &Mcdm::de76, "in ΔE*ab")};
  }
};

template <>
struct Fields<TransferScore> {
  static constexpr const char* name = "TransferScore";
  static constexpr auto all() {
    using T = TransferScore;
    return std::tuple{
        needed("form", &T::form, "of the map"),
        needed("de00", &T::de00, "rms ΔE00 of tabs left out of the fit"),
        field("standard_error", &T::standard_error, "of its mean square, against the best form's")};
  }
};
template <>
struct Fields<Transfer> {
  static constexpr const char* name = "Transfer";
  static Transfer blank() {
    return {.from = {},
            .to = {},
            .scores = {},
            .viewing = Fields<Viewing>::blank(),
            .warnings = {},
            .provenance = {}};
  }
  static constexpr auto all() {
    using T = Transfer;
    return std::tuple{
        needed("form", &T::form, "none, offset, diagonal or affine"),
        needed("matrix", &T::matrix, "3×3: to = matrix · from + offset"),
        needed("offset", &T::offset, "of three numbers"),
        needed("viewing", &T::viewing, "of both instruments"),
        field("from_", &T::from, "name of the first instrument's set"),
        field("to", &T::to, "name of the other instrument's set"),
        field("tabs", &T::tabs, "number of tabs in both sets"),
        field("residual_de00", &T::residual_de00, "rms over tabs left out of the fit"),
        field("worst_de00", &T::worst_de00, "largest over tabs left out of the fit"),
        field("residual", &T::residual, "3×3 covariance left for a new colour"),
        field("scores", &T::scores, "of every form that was tried"),
        field("centre", &T::centre, "of the fitted tabs, as the first instrument read them"),
        field("inverse_spread", &T::inverse_spread, "inverse of the fitted tabs' spread"),
        field("low", &T::low, "lower end of the range of the fitted tabs"),
        field("high", &T::high, "upper end of the range of the fitted tabs"),
        field("residual_dof", &T::residual_dof, "degrees of freedom behind the residual"),
        field("curvature_p_value", &T::curvature_p_value, "of no curvature in the residuals"),
        field("warnings", &T::warnings, "what to know before using it"),
        field("provenance", &T::provenance, "how it was made")};
  }
};

template <>
struct Fields<Population> {
  static constexpr const char* name = "Population";
  static Population blank() {
    return {.name = {},
            .teeth = {},
            .viewing = Fields<Viewing>::blank(),
            .reading_error = {},
            .generated = false,
            .note = {}};
  }
  static constexpr auto all() {
    using T = Population;
    return std::tuple{
        needed("name", &T::name, "of the sample"), needed("teeth", &T::teeth, "their colours"),
        needed("viewing", &T::viewing, "of the colours"),
        field("reading_error", &T::reading_error,
              "3×3 covariance of one reading's own error, taken out of the coverage error"),
        field("generated", &T::generated, "True when drawn from published means and ranges"),
        field("note", &T::note, "what it rests on")};
  }
};
template <>
struct Fields<Neighbour> {
  static constexpr const char* name = "Neighbour";
  static constexpr auto all() {
    return std::tuple{needed("tab", &Neighbour::tab, "name of the tab"),
                      needed("nearest", &Neighbour::nearest, "tab nearest to it"),
                      needed("de00", &Neighbour::de00, "between the two")};
  }
};
template <>
struct Fields<RedundantPair> {
  static constexpr const char* name = "RedundantPair";
  static constexpr auto all() {
    return std::tuple{needed("first", &RedundantPair::first, "name of one tab"),
                      needed("second", &RedundantPair::second, "name of the other"),
                      needed("de00", &RedundantPair::de00, "between the two"),
                      field("chance", &RedundantPair::chance,
                            "that they truly are closer than the perceptibility threshold")};
  }
};
template <>
struct Fields<Gap> {
  static constexpr const char* name = "Gap";
  static constexpr auto all() {
    return std::tuple{
        needed("centre", &Gap::centre, "colour of the tooth in its middle"),
        needed("share", &Gap::share, "of the population that a tab there would newly serve"),
        needed("nearest", &Gap::nearest, "tab nearest to the centre"),
        needed("de00", &Gap::de00, "from the centre to that tab")};
  }
};
template <>
struct Fields<Coverage> {
  static constexpr const char* name = "Coverage";
  static constexpr auto all() {
    using T = Coverage;
    return std::tuple{
        needed("error_de00", &T::error_de00, "mean over teeth of ΔE00 to the nearest tab"),
        needed("low", &T::low, "lower end of its 95 % bootstrap interval over the teeth"),
        needed("high", &T::high, "upper end of that interval"),
        field("noise_de00", &T::noise_de00, "what the readings' own error had added"),
        field("share_perceptible", &T::share_perceptible,
              "of teeth within the perceptibility threshold of a tab"),
        field("share_acceptable", &T::share_acceptable,
              "of teeth within the acceptability threshold of a tab"),
        field("worst_de00", &T::worst_de00, "largest over the teeth")};
  }
};
template <>
struct Fields<ExtraTab> {
  static constexpr const char* name = "ExtraTab";
  static constexpr auto all() {
    return std::tuple{needed("lab", &ExtraTab::lab, "colour that would help most"),
                      needed("error_de00", &ExtraTab::error_de00, "coverage error with it")};
  }
};
template <>
struct Fields<TabChoice> {
  static constexpr const char* name = "TabChoice";
  static constexpr auto all() {
    using T = TabChoice;
    return std::tuple{
        needed("tabs", &T::tabs, "names in the set's order"),
        needed("error_de00", &T::error_de00, "coverage error of the choice"),
        field("bound_de00", &T::bound_de00, "no choice of as many tabs has a lower one"),
        field("exact", &T::exact, "True when the bound is met")};
  }
};
template <>
struct Fields<Audit> {
  static constexpr const char* name = "Audit";
  static constexpr auto all() {
    using T = Audit;
    return std::tuple{
        needed("neighbours", &T::neighbours, "in the set's order"),
        needed("redundant", &T::redundant, "pairs closer than the perceptibility threshold"),
        needed("by_lightness", &T::by_lightness, "names, lightest first"),
        needed("by_chroma", &T::by_chroma, "names, least chromatic first"),
        needed("coverage", &T::coverage, "of the population"),
        field("gaps", &T::gaps, "regions without an acceptable tab, largest first"),
        field("extra_tab", &T::extra_tab, "the one colour that would help most"),
        field("population", &T::population, "name of the sample"),
        field("population_note", &T::population_note, "what the sample rests on"),
        field("warnings", &T::warnings, "what to know before using it"),
        field("provenance", &T::provenance, "how it was made")};
  }
};
template <>
struct Fields<TabDrift> {
  static constexpr const char* name = "TabDrift";
  static constexpr auto all() {
    using T = TabDrift;
    return std::tuple{
        needed("tab", &T::tab, "name of the tab"),
        needed("de00", &T::de00, "between now and earlier, the common shift taken off"),
        field("difference", &T::difference, "now minus earlier in CIELAB"),
        field("t_squared", &T::t_squared, "Hotelling's statistic"),
        field("p_value", &T::p_value, "of no drift"),
        field("verdict", &T::verdict, "in a word")};
  }
};
template <>
struct Fields<Drift> {
  static constexpr const char* name = "Drift";
  static constexpr auto all() {
    using T = Drift;
    return std::tuple{
        needed("tabs", &T::tabs, "in the order of the new set"),
        field("common_shift", &T::common_shift, "of the tabs that did not drift"),
        field("common_shift_de00", &T::common_shift_de00, "at the mean colour of the set"),
        field("common_shift_p_value", &T::common_shift_p_value, "of no common shift"),
        field("common_shift_removed", &T::common_shift_removed,
              "False with fewer than 4 tabs in both sets"),
        field("witness_shift", &T::witness_shift, "of the witnesses: the instrument's"),
        field("set_shift", &T::set_shift, "of the whole set, the witnesses' taken off"),
        field("set_shift_de00", &T::set_shift_de00, "at the mean colour of the set"),
        field("set_shift_p_value", &T::set_shift_p_value, "of no such shift; 1 without witnesses"),
        field("set_verdict", &T::set_verdict, "unknown, steady or changed"),
        field("note", &T::note, "what the verdicts rest on"),
        field("only_earlier", &T::only_earlier, "tabs missing now"),
        field("only_now", &T::only_now, "tabs missing earlier"),
        field("warnings", &T::warnings, "what to know before using it")};
  }
};

}  // namespace mamelon::python
