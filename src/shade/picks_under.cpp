#include "shade/picks_under.h"

#include <algorithm>
#include <array>

#include "base/numbers.h"

namespace mamelon::detail {

PicksUnder::PicksUnder(const TabSet& tabs) : tabs_(tabs) {
  for (std::size_t i = 0; i < tabs.tabs.size(); ++i)
    if (tabs.tabs[i].reflectance) with_curve_.push_back(i);
  if (with_curve_.size() < 2) return;
  // Daylight, incandescent and a white LED of 4100 K: the three kinds of light a tooth is seen in.
  constexpr std::array<const char*, 3> names{"D65", "A", "LED-B3"};
  for (const char* name : names) {
    Light light{{standard_illuminant(name), tabs.viewing.observer}, {}};
    for (const std::size_t i : with_curve_)
      light.labs.push_back(to_lab(*tabs.tabs[i].reflectance, light.viewing));
    lights_.push_back(std::move(light));
  }
}

std::vector<PickUnder> PicksUnder::operator()(const Reading& reading, std::size_t first,
                                              const DifferenceWeights& weights) const {
  std::vector<PickUnder> picks;
  if (!reading.reflectance || !std::binary_search(with_curve_.begin(), with_curve_.end(), first))
    return picks;
  for (const Light& light : lights_) {
    const Lab seen = to_lab(*reading.reflectance, light.viewing);
    PickUnder pick;
    pick.illuminant = light.viewing.illuminant.name();
    for (std::size_t k = 0; k < with_curve_.size(); ++k) {
      const double de = de00(light.labs[k], seen, weights);
      if (k == 0 || de < pick.nearest_de00) {
        pick.nearest_de00 = de;
        pick.nearest = tabs_.tabs[with_curve_[k]].name;
      }
      if (with_curve_[k] == first) pick.first_de00 = de;
    }
    picks.push_back(std::move(pick));
  }
  return picks;
}

std::string metamerism_warning(const std::vector<PickUnder>& picks) {
  const bool same = std::all_of(picks.begin(), picks.end(), [&](const PickUnder& pick) {
    return pick.nearest == picks.front().nearest;
  });
  if (same) return {};
  std::string text = "metamerism: the nearest tab depends on the light:";
  for (const PickUnder& pick : picks)
    text += (&pick == &picks.front() ? " " : ", ") + pick.nearest + " under " + pick.illuminant +
            " (ΔE00 " + format_fixed(pick.nearest_de00, 2) + ")";
  return text;
}

}  // namespace mamelon::detail
