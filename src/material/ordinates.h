#pragma once
// Discrete ordinates: the directions, with all that depends on them alone.

#include <cstddef>
#include <span>
#include <vector>

#include "mamelon/drawdown.h"
#include "mamelon/transport.h"

namespace mamelon::detail {

// How light comes in from outside: evenly from everywhere, or as a beam at 45°.
enum class Light { even, beam_45 };

// What crosses a plane is held as z = √(2 w µ) I a stream, in which reflection and transmission of
// any layer are symmetric matrices (reciprocity) and flux is Σ √(2 w µ) z.
struct Ordinates {
  // `streams` of 4, 6, 8, 16 or 32. A beam gets a stream of its own, of next to no weight.
  Ordinates(int streams, double refractive_index, Light light = Light::even);

  [[nodiscard]] std::size_t size() const { return mu.size(); }

  int moments = 0;         // of the phase function
  std::size_t normal = 0;  // the stream along the normal
  double refractive_index = 1;
  double k1 = 0;             // Fresnel's reflectance along the normal
  double outer_diffuse = 0;  // diffuse light that the surface reflects from outside
  std::vector<double> mu;
  std::vector<double> weight;
  std::vector<double> flux;         // √(2 w µ)
  std::vector<double> inner;        // share of a stream that the surface sends back
  std::vector<double> light;        // z inside of flux 1 outside
  std::vector<double> normal_beam;  // z inside of a beam of flux 1 along the normal
};

// The phase function of Henyey and Greenstein between the streams, with the forward peak taken out
// (δ–M, Wiscombe 1977). Of scattering 1 per mm; the even and the odd part in l.
struct Phase {
  Phase(const Ordinates& ordinates, double anisotropy);

  double peak = 0;  // the share that goes straight on
  std::vector<double> even;
  std::vector<double> odd;
};

// A paste's light modes, which do not depend on its thickness. Rows of `pitch` values, one a band:
// the fields of sum and difference of the two directions (n × n rows each) and the decay (n rows).
struct Modes {
  std::size_t streams = 0;
  std::size_t bands = 0;
  std::size_t pitch = 0;
  std::vector<double> rows;
};

// `absorption` µa and `reduced_scattering` µs(1 − g) per mm, one a band.
Modes modes_of(const Ordinates& ordinates, std::span<const double> absorption,
               std::span<const double> reduced_scattering, double anisotropy);

struct ModesLayer {
  const Modes* modes = nullptr;
  double thickness_mm = 0;
};

// What lies under the first layer: the floor itself, or a smooth face with air between it and a
// floor of the stated reflectance in air.
enum class Under { contact, air };

// Radiance along the normal of what leaves a stack lit by `ordinates.light`, as a share of that of
// a perfect diffuser. `floor` is even; `layers` stand from the floor outward.
std::vector<double> normal_factors(const Ordinates& ordinates, std::span<const double> floor,
                                   std::span<const ModesLayer> layers,
                                   Under under = Under::contact);

// The share of a beam along the normal that passes a layer in air, whose upper face is smooth.
std::vector<double> normal_transmittances(const Ordinates& ordinates, const ModesLayer& layer,
                                          Face lower_face);

// Reflection and transmission of one layer in its first band, row by row.
struct LayerMatrices {
  std::vector<double> reflection;
  std::vector<double> transmission;
};
LayerMatrices layer_matrices(const ModesLayer& layer);

}  // namespace mamelon::detail
