#pragma once
/// @file
/// Discs of one material, read together from one photo.

#include <span>
#include <vector>

#include "mamelon/card.h"

namespace mamelon {

/// Colours whose errors go together.
struct JointLab {
  std::vector<Lab> lab;
  std::vector<double> covariance;
};
template <>
struct Fields<JointLab> {
  static constexpr const char* name = "JointLab";
  static constexpr auto all() {
    return FieldList{
        needed("lab", &JointLab::lab, "the colours"),
        needed("covariance", &JointLab::covariance,
               "of L*, a*, b* of the first, of the second and so on, row by row: 9 n² numbers")};
  }
};

/// Colours of cured discs of one composite that lie on a bench, with the card in the photo, as the
/// card alone reads them. One light falls on card and discs: no shadow's edge runs between them,
/// and what the card's own patches and bars do not show of one is not part of the covariance.
/// Throws as `box_signal` and `check_belongs` do.
[[nodiscard]] JointLab read_discs(const Photo& photo, const CardFit& fit,
                                  std::span<const BoxPx> boxes);

}  // namespace mamelon
