#pragma once
/// @file
/// How much of what lies under a layer shows through it.

#include <optional>

#include "mamelon/description.h"
#include "mamelon/stack.h"
#include "mamelon/transport.h"
#include "mamelon/viewing.h"

namespace mamelon {

/// How translucent a paste is, and which depth hides its floor.
struct Opacity {
  double thickness_mm = 1;
  double tp00 = 0;
  double tp_ab = 0;
  double contrast_ratio = 0;
  /// The depth from which black and white floors cannot be told apart: ΔE00 between them is at most
  /// the perceptibility threshold. Nothing where 30 mm do not suffice.
  std::optional<double> infinite_mm;
};
template <>
struct Fields<Opacity> {
  static constexpr const char* name = "Opacity";
  static constexpr auto all() {
    using T = Opacity;
    return std::tuple{
        needed("thickness_mm", &T::thickness_mm, "of the layer"),
        needed("tp00", &T::tp00, "translucency parameter, CIEDE2000 between white and black floor"),
        needed("tp_ab", &T::tp_ab, "the same as ΔE*ab"),
        needed("contrast_ratio", &T::contrast_ratio, "Y over black / Y over white"),
        needed("infinite_mm", &T::infinite_mm, "depth that hides the floor; None beyond 30 mm")
            .null()};
  }
};

/// Over floors of internal reflectance `black` and `white`, in optical contact. The d:8 reading
/// with the specular part excluded. Throws ArgumentError unless 0 ≤ black < white ≤ 1, and as
/// `predict`.
[[nodiscard]] Opacity opacity(const Paste& paste, Engine engine, const Viewing& viewing,
                              double thickness_mm = 1, double black = 0, double white = 1);

}  // namespace mamelon
