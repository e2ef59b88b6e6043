#pragma once
// The share of a reflectance that a small aperture does not see, because the light leaves the paste
// outside it.

#include <vector>

#include "mamelon/drawdown.h"

namespace mamelon::detail {

// Loss of one specimen under one aperture; `gap`: across air under a smooth face, else in contact.
class EdgeLoss {
 public:
  EdgeLoss(const Aperture& aperture, double thickness_mm, bool gap);

  // Of the light that comes back without gloss. `floor` is the backing from inside the paste, or in
  // air across a gap. Constants outside the table count as its margin.
  // `thickness_mm` near that of the construction.
  [[nodiscard]] double operator()(double thickness_mm, double absorption_per_mm,
                                  double reduced_scattering_per_mm, double anisotropy,
                                  double refractive_index, double floor) const;
  [[nodiscard]] bool none() const { return none_; }

 private:
  double thickness_mm_;
  bool none_ = false;
  // At the nodes of the table, of a specimen thinner and thicker by `apart`.
  std::vector<double> thinner_;
  std::vector<double> thicker_;
};

}  // namespace mamelon::detail
