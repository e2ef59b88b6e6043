#pragma once
// The pick under other lights, from reflectance curves.

#include <string>
#include <vector>

#include "mamelon/match.h"

namespace mamelon::detail {

class PicksUnder {
 public:
  explicit PicksUnder(const TabSet& tabs);

  // Picks under each light among the tabs that have curves; empty where the reading has none or
  // fewer than two tabs have. `first` is the index of the tab that is nearest by CIELAB.
  [[nodiscard]] std::vector<PickUnder> operator()(const Reading& reading, std::size_t first,
                                                  const DifferenceWeights& weights) const;

 private:
  struct Light {
    Viewing viewing;
    std::vector<Lab> labs;  // of the tabs with curves
  };
  const TabSet& tabs_;
  std::vector<std::size_t> with_curve_;
  std::vector<Light> lights_;
};

// The sentence for a pick that is not the same under all lights; empty where it is.
std::string metamerism_warning(const std::vector<PickUnder>& picks);

}  // namespace mamelon::detail
