#pragma once
// What the kernels of the discrete ordinates are given; each has one instance per instruction set.

#include <cstddef>
#include <span>

#include "material/ordinates.h"

namespace mamelon::detail {

// Bands stand in rows padded to a multiple of this, the widest vector of any instruction set.
inline constexpr std::size_t band_padding = 8;

struct ModesTask {
  const Ordinates& ordinates;
  const Phase& phase;
  const double* scattering;  // µs without the forward peak, per mm
  const double* extinction;
  Modes& modes;
};

struct StackTask {
  const Ordinates& ordinates;
  std::span<const ModesLayer> layers;
  const double* floor;
  double* factor;
  std::size_t pitch;
  Under under;
};

// Rows of the layer's pitch, as `OneStream`.
struct OneStreamTask {
  const Ordinates& ordinates;
  const ModesLayer& layer;
  double* reflected;
  double* transmitted;
  double* black;
  double* gain;
  double* back;
};

struct TransmissionTask {
  const Ordinates& ordinates;
  const ModesLayer& layer;
  Face lower_face;
  double* share;
};

struct MatricesTask {
  const ModesLayer& layer;
  double* reflection;  // n × n rows of `band_padding`
  double* transmission;
};

}  // namespace mamelon::detail
