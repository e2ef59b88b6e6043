#include "material/one_stream.h"

namespace mamelon::detail {

OneStream one_stream_of(std::span<const double> absorption, std::span<const double> scattering,
                        double thickness_mm, const Interface& surface) {
  OneStream one;
  for (std::size_t i = 0; i < absorption.size(); ++i) {
    const LayerOptics layer = layer_optics(absorption[i], scattering[i], thickness_mm);
    const double t2 = layer.t * layer.t;
    const double pass = (1 - surface.k1) * (1 - surface.k2);
    const double out = 1 - surface.k2 * layer.r0;
    one.reflected.push_back(layer.r0);
    one.transmitted.push_back(layer.t);
    one.black.push_back((surface.specular_included ? surface.k1 : 0) + pass * layer.r0 / out);
    one.gain.push_back(pass * t2 / (out * out));
    one.back.push_back((layer.r0 + surface.k2 * (t2 - layer.r0 * layer.r0)) / out);
  }
  return one;
}

}  // namespace mamelon::detail
