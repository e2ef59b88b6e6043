#pragma once
// A layer as one diffuse stream sees it: transport's own reflection and transmission of even light,
// in place of all directions. A stack of one layer on an even floor is exact; between layers the
// light is taken to be even again.

#include <span>
#include <vector>

#include "material/ordinates.h"

namespace mamelon::detail {

// One value a band each.
struct OneStream {
  // Of even light inside.
  std::vector<double> reflected;
  std::vector<double> transmitted;
  // As outermost layer over an even floor of reflectance ρ, an instrument outside sees
  // black + gain ρ / (1 − back ρ).
  std::vector<double> black;
  std::vector<double> gain;
  std::vector<double> back;
};

// By transport; `layer.modes` belong to `ordinates`, and a thickness of 0 is allowed.
OneStream one_stream_of(const Ordinates& ordinates, const ModesLayer& layer);

// By Kubelka and Munk, where one stream is all there is. `absorption` K and `scattering` S per mm.
OneStream one_stream_of(std::span<const double> absorption, std::span<const double> scattering,
                        double thickness_mm, const Interface& surface);

}  // namespace mamelon::detail
