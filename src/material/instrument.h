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
// taken to have the paste's refractive index. Across an air gap the paste's lower face is taken to
// scatter what it sends back.
class Contact {
 public:
  Contact(Backing contact, Geometry geometry, double refractive_index);
  double operator()(double value) const;

 private:
  Backing contact_;
  Instrument instrument_;
  double inside_;   // of even light from inside that the surface sends back
  double outside_;  // from outside
};

}  // namespace mamelon::detail
