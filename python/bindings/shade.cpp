// Tab sets and their ranking.

#include "mamelon/match.h"
#include "mamelon/tabs.h"

#include "bindings.h"
#include "define.h"
#include "frames.h"
#include "values.h"

namespace mamelon::python {

void bind_shade(py::module_& m) {
  bind_value<Tab>(m, R"(One tab of a set.

>>> Tab("Linden", Measured([70, 1, 15])).name
'Linden'
)");
  auto set = bind_value<TabSet>(m, R"(A user-defined set of shade tabs.

Raises ArgumentError for an empty set, an empty or repeated name, or a colour out of range.

>>> TabSet("two", [Tab("Linden", Measured([70, 1, 15])), Tab("Alder", Measured([66, 2, 18]))], "D65/2")
TabSet(name='two', tabs=<2>, viewing='D65/2', new_reading=0, new_reading_dof=inf, polarised=False, invented=False, …)
)");
  set.def(
      "__len__", [](const TabSet& self) { return self.tabs.size(); }, "__len__(self) -> int");
  set.def_property_readonly(
      "labs",
      [](const TabSet& self) {
        std::vector<double> labs;
        for (const Tab& tab : self.tabs)
          labs.insert(labs.end(), {tab.lab.value.l, tab.lab.value.a, tab.lab.value.b});
        return copied_array(labs.data(), {self.tabs.size(), 3});
      },
      "NDArray[np.float64]: colours (n, 3) in the set's order");
  add_property_of(
      set, "names",
      [](const TabSet& self) {
        std::vector<std::string> names;
        for (const Tab& tab : self.tabs) names.push_back(tab.name);
        return names;
      },
      "in the set's order");
  bind_value<RankedTab>(m, R"(One tab beside a reading; differences are reading minus tab.

>>> RankedTab("Linden", de00=0.4).grade
'excellent'
)");
  bind_value<ToothPrior>(m, R"(What is known of teeth before one is read.

>>> generated_prior().name
'generated anterior teeth'
)");
  define(m, "generated_prior", generated_prior,
         R"(The prior of the generated population under D65/2.

>>> generated_prior().mean[0] > 70
True
)");
  bind_value<Between>(m, R"(The point between two tabs that looks most like the reading.

>>> Between("Linden", "Alder", 0.4).nearer
'Linden'
)");
  bind_value<PickUnder>(m, R"(The pick under another light.

>>> PickUnder("A", "Linden", 0.6).nearest
'Linden'
)");
  auto found = bind_value<Match>(m, R"(A set ranked for one reading, nearest tab first.

>>> Match("tooth", "middle", [RankedTab("Linden", 0.4)]).best.tab
'Linden'
)");
  add_frame(found);
  add_property_of(
      found, "best",
      [](const Match& self) {
        if (self.ranked.empty()) throw ArgumentError("this match ranks no tab");
        return self.ranked.front();
      },
      "the nearest tab");
  define_long(
      m, "match",
      [](const std::shared_ptr<Reading>& reading, const std::shared_ptr<TabSet>& tabs,
         const DifferenceWeights& weights, std::size_t draws, std::uint64_t seed, std::size_t keep,
         std::size_t threads, const std::optional<ToothPrior>& prior) {
        return match(*reading, *tabs,
                     {.weights = weights,
                      .prior = prior.value_or(ToothPrior{}),
                      .draws = draws,
                      .seed = seed,
                      .keep = keep,
                      .threads = threads});
      },
      py::arg("reading"), py::arg("tabs"), py::kw_only(), py::arg("weights") = DifferenceWeights{},
      py::arg("draws") = MatchOptions{}.draws, py::arg("seed") = MatchOptions{}.seed,
      py::arg("keep") = MatchOptions{}.keep, py::arg("threads") = MatchOptions{}.threads,
      py::arg("prior") = MatchOptions{}.prior,
      R"(Ranks the whole set for a reading: ΔE00 with a 95 % interval and each tab's chance of being best.

Chances come from a fixed low-discrepancy sample of `draws` points; `keep` reports only the nearest
tabs (0 for all); the result does not depend on `threads` (0 for all of the machine's). Chances of
a wide reading count in what teeth look like: `prior` is the generated population's unless another
(`prior_of`) or None is given. Raises ArgumentError when the viewings differ.

>>> tabs = TabSet("two", [Tab("Linden", Measured([70, 1, 15])), Tab("Alder", Measured([66, 2, 18]))], "D65/2")
>>> match(Reading("tooth", Measured([69.8, 1, 15]), "D65/2"), tabs).best.tab
'Linden'
)");
  define_long(
      m, "match_all",
      [](const std::vector<Reading>& readings, const std::shared_ptr<TabSet>& tabs,
         const DifferenceWeights& weights, std::size_t draws, std::uint64_t seed, std::size_t keep,
         std::size_t threads, const std::optional<ToothPrior>& prior) {
        return match_all(readings, *tabs,
                         {.weights = weights,
                          .prior = prior.value_or(ToothPrior{}),
                          .draws = draws,
                          .seed = seed,
                          .keep = keep,
                          .threads = threads});
      },
      py::arg("readings"), py::arg("tabs"), py::kw_only(), py::arg("weights") = DifferenceWeights{},
      py::arg("draws") = MatchOptions{}.draws, py::arg("seed") = MatchOptions{}.seed,
      py::arg("keep") = MatchOptions{}.keep, py::arg("threads") = MatchOptions{}.threads,
      py::arg("prior") = MatchOptions{}.prior,
      R"(The same for many readings at once, in their order; every match is the one `match` returns.

>>> tabs = TabSet("one", [Tab("Linden", Measured([70, 1, 15]))], "D65/2")
>>> readings = [Reading("tooth", Measured([69.8, 1, 15]), "D65/2")]
>>> match_all(readings, tabs)[0] == match(readings[0], tabs)
True
)");
  define(m, "between_in_words", between_in_words, py::arg("between"),
         R"(The same in words.

>>> between_in_words(Between("Linden", "Alder", 0.2))
'between Linden and Alder, nearer Linden'
)");
  define(
      m, "difference_in_words", [](const RankedTab& tab) { return difference_in_words(tab); },
      py::arg("tab"), R"(How the reading differs from the tab in the words of the trade.

>>> difference_in_words(RankedTab("Linden", de00=0.1))
'no visible difference'
)");
}

}  // namespace mamelon::python
