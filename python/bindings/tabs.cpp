// Calibration, transfer and audit of tab sets.

#include "mamelon/audit.h"
#include "mamelon/calibrate.h"
#include "mamelon/population.h"
#include "mamelon/transfer.h"

#include "bindings.h"
#include "define.h"
#include "frames.h"
#include "rows3.h"
#include "values.h"

namespace mamelon::python {

namespace {

void bind_calibration(py::module_& m) {
  bind_value<RepeatReading>(
      m, R"(One reading of one tab and the circumstances under which it was taken.

>>> RepeatReading(Reading("Linden", Measured([70, 1, 15]), "D65/2"), day="2026-03-02").day
'2026-03-02'
)");
  bind_value<SetAside>(m, R"(A reading that was left out of the means.

>>> SetAside(3, "Linden", [70, 1, 15], reason="gross error").row
3
)");
  bind_value<VariancePart>(m, R"(One part of the variance of a reading.

>>> VariancePart("day", levels=4).levels
4
)");
  bind_value<TabRecord>(m, R"(What is known of one tab beside its colour.

>>> TabRecord("Linden", count=5, used=5).used
5
)");
  auto calibration = bind_value<Calibration>(
      m, "A tab set from repeat readings, with what they say of its error.");
  add_frame(calibration);
  bind_numbers<Mcdm>(m, R"(Mean colour difference from the mean (ASTM E2214).

>>> Mcdm(0.4, 0.6).de00
0.4
)");
  define_long(
      m, "calibrate",
      [](const std::vector<RepeatReading>& readings, const std::string& name,
         double gross_error_chance, const Vec3& unrepeated_sd) {
        return calibrate(readings, {.name = name,
                                    .gross_error_chance = gross_error_chance,
                                    .unrepeated_sd = unrepeated_sd});
      },
      py::arg("readings"), py::kw_only(), py::arg("name"),
      py::arg("gross_error_chance") = CalibrationOptions{}.gross_error_chance,
      py::arg("unrepeated_sd") = Convert<Vec3>::to_tuple(CalibrationOptions{}.unrepeated_sd),
      R"(Robust mean, random and shared covariance of every tab from repeat readings (Henderson 1953, method 3).

Gross errors are set aside and listed. Raises ArgumentError for no reading, mixed viewings, an empty
label or options out of range.

>>> rows = [RepeatReading(Reading("Linden", Measured([70 + d, 1, 15]), "D65/2")) for d in (-0.2, 0, 0.2)]
>>> calibrate(rows, name="bench").records[0].used
3
)");
  define(
      m, "mcdm", [](const LabList& readings) { return mcdm(readings.colours); },
      py::arg("readings"),
      R"(Mean colour difference from the mean of colours (n, 3) (ASTM E2214). Raises ArgumentError for none.

>>> mcdm([[70, 0, 0], [72, 0, 0]]).de76
1.0
)");
}

void bind_transfer(py::module_& m) {
  bind_value<TransferScore>(m, R"(How well one form of transfer predicts tabs left out of its fit.

>>> TransferScore("offset", 0.4).form
'offset'
)");
  bind_value<Transfer>(m, "From the readings of one instrument to those another would give.");
  define_long(
      m, "fit_transfer",
      [](const std::shared_ptr<TabSet>& first, const std::shared_ptr<TabSet>& second) {
        return fit_transfer(*first, *second);
      },
      py::arg("from_"), py::arg("to"),
      R"(The simplest map that predicts one instrument's tabs from the other's, tabs paired by name.

Raises ArgumentError for mixed viewings, ModelError where the data cannot support a transfer.

>>> labs = [[70, 1, 15], [66, 2, 18], [74, 0, 12], [62, 3, 20], [78, 0, 10]]
>>> first = TabSet("first", [Tab(f"tab {i}", Measured(lab)) for i, lab in enumerate(labs)], "D65/2")
>>> second = TabSet("second", [Tab(t.name, Measured([t.lab.value.l + 1, *list(t.lab.value)[1:]])) for t in first.tabs], "D65/2")
>>> fit_transfer(first, second).form
'offset'
)");
  define(m, "joint_p_value", joint_p_value, py::arg("measured"), py::arg("truth"),
         R"(The chance of an error in L*, a*, b* together at least as far out as the one to `truth`.

Hotelling's T² on `measured.dof`: `truth` lies within the joint 95 % region where it is 0.05 or more.
Raises ArgumentError for a covariance of zero.

>>> round(joint_p_value(Measured([70, 1, 15], random=np.eye(3) * 0.04), [70.4, 1, 15]), 3)
0.261
)");
  m.def(
      "apply",
      [](const py::object& by, const py::object& value) -> py::object {
        const auto transfer = Argument<std::shared_ptr<Transfer>>::taken(by, "transfer");
        if (py::isinstance<Reading>(value))
          return py::cast(apply(*transfer, value.cast<const Reading&>()));
        if (py::isinstance<TabSet>(value))
          return py::cast(apply(*transfer, value.cast<const TabSet&>()));
        wrong_type("value", "a Reading or a TabSet", value);
      },
      py::arg("transfer"), py::arg("value"),
      R"(apply(transfer: Transfer, value: _Carried) -> _Carried

What the other instrument would read of a Reading or a TabSet. Raises ArgumentError for another
viewing than the transfer's.)");
}

void bind_audit(py::module_& m) {
  bind_value<Population>(m, R"(A sample of teeth to hold a tab set against.

>>> Population("three", [[70, 1, 15], [66, 2, 18], [74, 0, 12]], "D65/2").generated
False
)");
  bind_value<Neighbour>(m, R"(A tab and the tab nearest to it.

>>> Neighbour("Linden", "Alder", 2.1).nearest
'Alder'
)");
  bind_value<RedundantPair>(m, R"(Two tabs closer than the perceptibility threshold.

>>> RedundantPair("Linden", "Alder", 0.4).second
'Alder'
)");
  bind_value<Gap>(m, R"(A region of the population without a tab within the acceptability threshold.

>>> Gap([62, 3, 20], 0.05, "Linden", 2.4).share
0.05
)");
  bind_value<Coverage>(m, R"(Coverage error with its interval.

>>> Coverage(1.2, 1.1, 1.3).error_de00
1.2
)");
  bind_value<ExtraTab>(m, R"(The one colour that would lower the coverage error most.

>>> ExtraTab([62, 3, 20], 1.1).error_de00
1.1
)");
  bind_value<TabChoice>(m, R"(The best few tabs of a set.

>>> TabChoice(["Linden"], 2.0).tabs
('Linden',)
)");
  auto found = bind_value<Audit>(m, "What a tab set can and cannot match.");
  add_frame(found);
  bind_value<TabDrift>(m, R"(One tab against its own earlier calibration.

>>> TabDrift("Linden", 0.3).verdict
'steady'
)");
  bind_value<Drift>(m, "A tab set against its own earlier calibration.");
  define(
      m, "prior_of",
      [](const std::shared_ptr<Population>& population) { return prior_of(*population); },
      py::arg("population"),
      R"(The prior for matching that this population gives. Raises ArgumentError for fewer than 10 teeth.

>>> prior_of(generated_population("D65/2")).mean[0] > 70
True
)");
  define(
      m, "population_of",
      [](std::string name, const std::vector<Reading>& readings) {
        return population_of(std::move(name), readings);
      },
      py::arg("name"), py::arg("readings"),
      R"(The user's own teeth. Raises ArgumentError for no reading or mixed viewings.

>>> len(population_of("own", [Reading("tooth", Measured([70, 1, 15]), "D65/2")]).teeth)
1
)");
  define(m, "generated_population", generated_population, py::arg("viewing"), py::kw_only(),
         py::arg("count") = 1000, py::arg("seed") = 1,
         R"(A generated sample of natural anterior teeth, a stand-in for readings of one's own.

>>> generated_population("D65/2", count=200).generated
True
)");
  define_long(
      m, "audit",
      [](const std::shared_ptr<TabSet>& tabs, const std::shared_ptr<Population>& population,
         const DifferenceWeights& weights, std::size_t bootstrap, std::uint64_t seed) {
        return audit(*tabs, *population,
                     {.weights = weights, .bootstrap = bootstrap, .seed = seed});
      },
      py::arg("tabs"), py::arg("population"), py::kw_only(),
      py::arg("weights") = DifferenceWeights{}, py::arg("bootstrap") = AuditOptions{}.bootstrap,
      py::arg("seed") = AuditOptions{}.seed,
      R"(What a tab set can and cannot match: neighbours, redundant pairs, coverage error, gaps.

Raises ArgumentError when the viewings differ or the population is empty.)");
  define_long(
      m, "best_tabs",
      [](const std::shared_ptr<TabSet>& tabs, const std::shared_ptr<Population>& population,
         std::size_t count, const DifferenceWeights& weights) {
        return best_tabs(*tabs, *population, count, weights);
      },
      py::arg("tabs"), py::arg("population"), py::arg("count"), py::kw_only(),
      py::arg("weights") = DifferenceWeights{},
      R"(The `count` tabs with the least coverage error (Cornuéjols, Fisher, Nemhauser 1977).

Raises ArgumentError for a count of 0 or above the number of tabs.)");
  define_long(
      m, "drift",
      [](const std::shared_ptr<TabSet>& earlier, const std::shared_ptr<TabSet>& now,
         double false_alarm, const DifferenceWeights& weights,
         const std::vector<std::string>& witnesses) {
        return drift(*earlier, *now,
                     {.false_alarm = false_alarm, .weights = weights, .witnesses = witnesses});
      },
      py::arg("earlier"), py::arg("now"), py::kw_only(),
      py::arg("false_alarm") = DriftOptions{}.false_alarm, py::arg("weights") = DifferenceWeights{},
      py::arg("witnesses") = py::tuple(),
      R"(Hotelling's T² of every tab that both sets have (Yao 1965), all tabs held to `false_alarm` together
(Holm 1979).

`witnesses` name entries of both sets that are no tabs but known to be stable: they tell a change of
the instrument from one of the whole set. Raises ArgumentError when the viewings differ, no tab is
in both sets or a witness is missing.)");
}

}  // namespace

void bind_tabs(py::module_& m) {
  bind_names<TransferForm>(m);
  bind_names<DriftVerdict>(m);
  bind_names<SetVerdict>(m);
  bind_calibration(m);
  bind_transfer(m);
  bind_audit(m);
}

}  // namespace mamelon::python
