#pragma once
/// @file
/// How much of what lies under a layer shows through it.

#include <optional>

#include "mamelon/stack.h"
#include "mamelon/transport.h"
#include "mamelon/viewing.h"

namespace mamelon {

struct Opacity {
  double thickness_mm = 1;
  double tp00 = 0;            ///< translucency parameter, CIEDE2000 between white and black floor
  double tp_ab = 0;           ///< the same as ΔE*ab
  double contrast_ratio = 0;  ///< Y over black / Y over white
  /// The depth from which black and white floors cannot be told apart: ΔE00 between them is at most
  /// the perceptibility threshold. Nothing where 30 mm do not suffice.
  std::optional<double> infinite_mm;
};

/// Over floors of internal reflectance `black` and `white`, in optical contact. The d:8 reading
/// with the specular part excluded. Throws ArgumentError unless 0 ≤ black < white ≤ 1, and as
/// `predict`.
[[nodiscard]] Opacity opacity(const Paste& paste, Engine engine, const Viewing& viewing,
                              double thickness_mm = 1, double black = 0, double white = 1);

}  // namespace mamelon
