#pragma once
// Invented pastes for the tests of this layer.

#include <string>
#include <vector>

#include "mamelon/paste.h"

namespace mamelon::test {

inline const Grid visible{400, 10, 31};

// The same constants at every wavelength.
inline Paste flat_paste(const std::string& name, double k_per_mm, double s_per_mm) {
  Paste paste;
  paste.name = name;
  paste.absorption = PerMm(visible, std::vector<double>(visible.count, k_per_mm));
  paste.scattering = PerMm(visible, std::vector<double>(visible.count, s_per_mm));
  return paste;
}

}  // namespace mamelon::test
