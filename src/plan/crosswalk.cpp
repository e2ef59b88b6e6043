#include "mamelon/crosswalk.h"

#include <mutex>
#include <utility>

#include "base/parallel.h"

namespace mamelon {

std::vector<CrosswalkRow> crosswalk(const TabSet& tabs, const PlanRequest& request,
                                    const Progress& progress) {
  check_tab_set(tabs);
  std::vector<CrosswalkRow> rows(tabs.tabs.size());
  std::mutex asking;
  std::size_t done = 0;
  const auto go_on = [&](double) {
    const std::scoped_lock lock(asking);
    return !progress || progress(static_cast<double>(done) / static_cast<double>(rows.size()));
  };
  detail::parallel_for(tabs.tabs.size(), 1, [&](std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i) {
      const Tab& tab = tabs.tabs[i];
      PlanRequest one = request;
      one.target = {tab.name, "", tab.lab, tab.reflectance, tabs.viewing, 1, {}, tabs.provenance};
      one.alternatives = 1;
      PlanSet found = plan(one, go_on);
      rows[i] = {tab.name,
                 std::move(found.plans),
                 found.recommended,
                 std::move(found.why),
                 std::move(found.warnings),
                 std::move(found.provenance)};
      const std::scoped_lock lock(asking);
      ++done;
    }
  });
  return rows;
}

}  // namespace mamelon
