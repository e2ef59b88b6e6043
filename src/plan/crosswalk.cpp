#include "mamelon/crosswalk.h"

#include <utility>

#include "base/parallel.h"

namespace mamelon {

std::vector<CrosswalkRow> crosswalk(const TabSet& tabs, const PlanRequest& request) {
  check_tab_set(tabs);
  std::vector<CrosswalkRow> rows(tabs.tabs.size());
  detail::parallel_for(tabs.tabs.size(), 1, [&](std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i) {
      const Tab& tab = tabs.tabs[i];
      PlanRequest one = request;
      one.target = {tab.name, "", tab.lab, tab.curve, tabs.viewing, 1, {}, tabs.provenance};
      one.alternatives = 1;
      PlanSet found = plan(one);
      rows[i] = {tab.name,
                 std::move(found.plans),
                 found.recommended,
                 std::move(found.why),
                 std::move(found.warnings),
                 found.bound,
                 std::move(found.provenance)};
    }
  });
  return rows;
}

}  // namespace mamelon
