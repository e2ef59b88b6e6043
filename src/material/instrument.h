#pragma once
// Between the inside of a paste and what an instrument reads.

#include "mamelon/drawdown.h"

namespace mamelon::detail {

struct Instrument {
  Interface surface;
  double gain = 1;  // of light that enters, against diffuse light
};

Instrument instrument_of(Geometry geometry, double refractive_index);

// What the instrument reads of an internal reflectance.
double read(double internal, const Instrument& instrument);

// The reflectance from inside the paste of a backing described as `contact` says; a bare backing is
// taken to have the paste's refractive index.
double backing_inside(double value, Backing contact, Geometry geometry, double refractive_index);

}  // namespace mamelon::detail
