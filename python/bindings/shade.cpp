// Tab sets and their ranking.

#include "bindings.h"
#include "describe_shade.h"
#include "run.h"

namespace mamelon::python {

void bind_shade(py::module_& m) {
  bind_value<Tab>(m, R"(One tab of a set.

>>> Tab("Linden", Measured([70, 1, 15])).name
'Linden'
)");
  auto set = bind_value<TabSet>(m, R"(A user-defined set of shade tabs.

Raises ArgumentError for an empty set, an empty or repeated name, or a colour out of range.

>>> TabSet("two", [Tab("Linden", Measured([70, 1, 15])), Tab("Alder", Measured([66, 2, 18]))], "D65/2")
TabSet(name='two', tabs=<2>, viewing='D65/2', provenance=Provenance(…))
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
  set.def_property_readonly(
      "names",
      [](const TabSet& self) {
        std::vector<std::string> names;
        for (const Tab& tab : self.tabs) names.push_back(tab.name);
        return Convert<std::vector<std::string>>::to_python(names);
      },
      "tuple[str, ...]: in the set's order");
  bind_value<RankedTab>(m, R"(One tab beside a reading; differences are reading minus tab.

>>> RankedTab("Linden", de00=0.4).grade
'excellent'
)");
  auto found = bind_value<Match>(m, R"(A set ranked for one reading, nearest tab first.

>>> Match("tooth", "middle", [RankedTab("Linden", 0.4)]).best.tab
'Linden'
)");
  found.def_property_readonly(
      "best",
      [](const Match& self) {
        if (self.ranked.empty()) throw ArgumentError("this match ranks no tab");
        return self.ranked.front();
      },
      "RankedTab: the nearest tab");
  m.def(
      "match",
      [](const std::shared_ptr<Reading>& reading, const std::shared_ptr<TabSet>& tabs,
         const py::object& weights, const py::object& draws, const py::object& seed) {
        MatchOptions options;
        options.weights = Convert<DifferenceWeights>::from_python(weights, "weights");
        options.draws = Convert<std::size_t>::from_python(draws, "draws");
        options.seed = Convert<std::uint64_t>::from_python(seed, "seed");
        return interruptibly([=] { return match(*reading, *tabs, options); });
      },
      py::arg("reading"), py::arg("tabs"), py::kw_only(), py::arg("weights") = DifferenceWeights{},
      py::arg("draws") = MatchOptions{}.draws, py::arg("seed") = MatchOptions{}.seed,
      R"(match(reading: Reading, tabs: TabSet, *, weights: DifferenceWeights = ..., draws: int = ..., seed: int = ...) -> Match

Ranks the whole set for a reading: ΔE00 with a 95 % interval and each tab's chance of being best.

Raises ArgumentError when the viewings differ.

>>> tabs = TabSet("two", [Tab("Linden", Measured([70, 1, 15])), Tab("Alder", Measured([66, 2, 18]))], "D65/2")
>>> match(Reading("tooth", Measured([69.8, 1, 15]), "D65/2"), tabs).best.tab
'Linden'
)");
  m.def(
      "difference_in_words",
      [](const std::shared_ptr<RankedTab>& tab) { return difference_in_words(*tab); },
      py::arg("tab"), R"(difference_in_words(tab: RankedTab) -> str

How the reading differs from the tab in the words of the trade.

>>> difference_in_words(RankedTab("Linden", de00=0.1))
'no visible difference'
)");
}

}  // namespace mamelon::python
