#include "material/instrument.h"

#include <cmath>

namespace mamelon::detail {
namespace {

double fresnel_from_air(double mu, double n) {
  const double inside = std::sqrt(1 - (1 - mu * mu) / (n * n));
  const double rs = (mu - n * inside) / (mu + n * inside);
  const double rp = (inside - n * mu) / (inside + n * mu);
  return (rs * rs + rp * rp) / 2;
}

double diffuse_outside(double n) {
  return 1 - (1 - interface_of(n, false).k2) * n * n;
}

double read_back(double measured, const Instrument& instrument) {
  Interface surface = instrument.surface;
  const double through = measured - (surface.specular_included ? surface.k1 : 0);
  surface.specular_included = false;
  return to_internal(through / instrument.gain, surface);
}

}  // namespace

Instrument instrument_of(Geometry geometry, double refractive_index) {
  const double n = refractive_index;
  Instrument instrument{interface_of(n, geometry == Geometry::diffuse_8_included)};
  if (geometry == Geometry::angle_45_0) {
    // A beam at 45° loses 1 − F(45°) on entering where diffuse light loses r_e.
    instrument.gain = (1 - fresnel_from_air(std::sqrt(0.5), n)) / (1 - diffuse_outside(n));
  }
  return instrument;
}

double read(double internal, const Instrument& instrument) {
  Interface surface = instrument.surface;
  surface.specular_included = false;
  return instrument.gain * to_measured(internal, surface) +
         (instrument.surface.specular_included ? surface.k1 : 0);
}

Contact::Contact(Backing contact, Geometry geometry, double refractive_index)
    : contact_(contact),
      instrument_(instrument_of(geometry, refractive_index)),
      inside_(instrument_.surface.k2),
      outside_(diffuse_outside(refractive_index)) {}

double Contact::operator()(double value) const {
  switch (contact_) {
    case Backing::seen_in_air:
      return read_back(value, instrument_);
    case Backing::air_gap:
      return inside_ + (1 - inside_) * (1 - outside_) * value / (1 - outside_ * value);
    default:
      return value;
  }
}

}  // namespace mamelon::detail
